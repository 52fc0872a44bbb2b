-- Browsers that were let in to this copy. Like the key of the device they are its own affair: never handed to
-- another device, in no digest, and kept when the projected tables are made anew.
CREATE TABLE sessions (
    -- BLAKE3 of what the browser holds; what it holds itself is nowhere.
    hash BLOB PRIMARY KEY NOT NULL CHECK (length(hash) = 32),
    -- The person who works there.
    person BLOB NOT NULL CHECK (length(person) = 16),
    -- What people call that browser.
    label TEXT,
    -- By the clock of this device, in milliseconds since 1970.
    made_ms INTEGER NOT NULL,
    seen_ms INTEGER NOT NULL,
    ended_ms INTEGER
) STRICT, WITHOUT ROWID;
