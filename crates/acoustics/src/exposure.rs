//! How long a level may be borne: noise dose by NIOSH and OSHA.
