-- What this copy knows of other devices and of browsers, and how it is set up. Local to the copy as in 0002: never
-- handed on, in no digest.

-- What a browser may do; those that were let in before could do everything.
ALTER TABLE sessions ADD COLUMN role TEXT NOT NULL DEFAULT 'keeper'
    CHECK (role IN ('keeper', 'crew', 'viewer'));

-- Addresses this copy syncs with.
CREATE TABLE partners (
    url TEXT PRIMARY KEY NOT NULL,
    -- SHA-256 of the certificate that is trusted there (the CA's, or the very one that is shown); NULL where the
    -- system's own list decides, or on this computer itself.
    pin BLOB CHECK (length(pin) = 32),
    -- The device that answered there last.
    device BLOB CHECK (length(device) = 16),
    -- By the clock of this device, in milliseconds since 1970.
    added_ms INTEGER NOT NULL,
    tried_ms INTEGER,
    synced_ms INTEGER,
    -- Why the last try failed; NULL when it went well.
    failed TEXT
) STRICT, WITHOUT ROWID;

-- Settings of this copy by name.
CREATE TABLE settings (
    name TEXT PRIMARY KEY NOT NULL,
    value TEXT NOT NULL
) STRICT, WITHOUT ROWID;
