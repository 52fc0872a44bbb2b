//! A notebook of many jobs with known results, seeded: what questions about past work are judged on.
