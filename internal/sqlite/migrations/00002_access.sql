-- Who may come in: accounts, paired devices, one-time codes, guest links, browser sessions.
-- Secrets are stored as hashes only.

-- +goose Up
CREATE TABLE account (
    id       TEXT PRIMARY KEY,
    name     TEXT NOT NULL,
    folded   TEXT NOT NULL UNIQUE, -- name in lower case: one account a name
    role     TEXT NOT NULL,
    rider_id TEXT NOT NULL,
    password TEXT NOT NULL,
    made     TEXT NOT NULL
) STRICT;

CREATE TABLE device (
    id      TEXT PRIMARY KEY,
    account TEXT NOT NULL REFERENCES account (id) ON DELETE CASCADE,
    name    TEXT NOT NULL,
    paired  TEXT NOT NULL,
    seen    TEXT NOT NULL,
    put_out TEXT NOT NULL
) STRICT;
CREATE INDEX device_account ON device (account);

CREATE TABLE code (
    hash    TEXT PRIMARY KEY,
    account TEXT NOT NULL REFERENCES account (id) ON DELETE CASCADE,
    made    TEXT NOT NULL,
    expires TEXT NOT NULL
) STRICT;
CREATE INDEX code_account ON code (account);

CREATE TABLE link (
    id      TEXT PRIMARY KEY,
    hash    TEXT NOT NULL UNIQUE,
    ride_id TEXT NOT NULL,
    note    TEXT NOT NULL,
    made    TEXT NOT NULL,
    expires TEXT NOT NULL
) STRICT;
CREATE INDEX link_ride ON link (ride_id);

CREATE TABLE session (
    token  TEXT PRIMARY KEY,
    data   BLOB NOT NULL,
    expiry TEXT NOT NULL
) STRICT;

-- +goose StatementBegin
CREATE TRIGGER ride_gone_links AFTER DELETE ON ride
BEGIN
    DELETE FROM link WHERE ride_id = old.id;
END;
-- +goose StatementEnd

-- +goose Down
DROP TRIGGER ride_gone_links;
DROP TABLE session;
DROP TABLE link;
DROP TABLE code;
DROP TABLE device;
DROP TABLE account;
