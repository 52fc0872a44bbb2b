-- The log and what only this copy knows. Everything else in the database is a projection made by the program
-- (see crates/store/src/schema.rs) and can be dropped and rebuilt from these tables.

-- One row: which notebook this is and which device this copy is.
CREATE TABLE copy (
    only INTEGER PRIMARY KEY CHECK (only = 1),
    notebook BLOB NOT NULL CHECK (length(notebook) = 16),
    device BLOB NOT NULL CHECK (length(device) = 16),
    -- Public key of the founding device, as learned when this copy was made.
    founder_key BLOB NOT NULL CHECK (length(founder_key) = 32),
    -- Random, new for every copy: derived files say which database they belong to.
    instance BLOB NOT NULL CHECK (length(instance) = 16),
    -- The person who works at this device.
    author BLOB NOT NULL CHECK (length(author) = 16)
) STRICT;

-- Devices by a short number that is local to this copy.
CREATE TABLE series (
    no INTEGER PRIMARY KEY,
    device BLOB NOT NULL UNIQUE CHECK (length(device) = 16),
    -- Changes held, hash and stamp of the last.
    count INTEGER NOT NULL,
    hash BLOB NOT NULL CHECK (length(hash) = 32),
    stamp INTEGER NOT NULL,
    -- Changes covered by a verified signature.
    covered INTEGER NOT NULL
) STRICT;

CREATE TABLE changes (
    -- Order of arrival at this copy.
    no INTEGER PRIMARY KEY,
    series INTEGER NOT NULL REFERENCES series (no),
    seq INTEGER NOT NULL,
    stamp INTEGER NOT NULL,
    draft BLOB NOT NULL CHECK (length(draft) = 16),
    hash BLOB NOT NULL CHECK (length(hash) = 32),
    body BLOB NOT NULL,
    UNIQUE (series, seq)
) STRICT;

CREATE INDEX changes_by_draft ON changes (draft);

-- The changes that hold membership, so that standing can be judged without reading the whole log.
CREATE TABLE membership_changes (no INTEGER PRIMARY KEY REFERENCES changes (no)) STRICT;

CREATE TABLE signatures (
    series INTEGER NOT NULL REFERENCES series (no),
    count INTEGER NOT NULL,
    bytes BLOB NOT NULL,
    -- 0 until the device's key is known and the signature holds.
    verified INTEGER NOT NULL,
    -- By content, so that a false one never stands in the way of the true one.
    PRIMARY KEY (series, count, bytes)
) STRICT, WITHOUT ROWID;

-- Changes of a series that forked: kept aside, listed, never projected.
CREATE TABLE forked_changes (
    device BLOB NOT NULL CHECK (length(device) = 16),
    seq INTEGER NOT NULL,
    hash BLOB NOT NULL CHECK (length(hash) = 32),
    body BLOB NOT NULL,
    PRIMARY KEY (device, seq, hash)
) STRICT, WITHOUT ROWID;
