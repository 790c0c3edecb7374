-- The book: what people and instruments gave, and under "computed" a cache of what was made of
-- it. Times are RFC 3339 in UTC as text, so that the file can be read without Ringcraft; an
-- empty text means "not". Days are year-month-day.

-- +goose Up
CREATE TABLE yard (
    id       TEXT PRIMARY KEY,
    name     TEXT NOT NULL,
    place    TEXT NOT NULL,
    arena    TEXT NOT NULL,
    remark   TEXT NOT NULL,
    invented INTEGER NOT NULL
) STRICT;

CREATE TABLE rider (
    id       TEXT PRIMARY KEY,
    name     TEXT NOT NULL,
    minor    INTEGER NOT NULL,
    remark   TEXT NOT NULL,
    invented INTEGER NOT NULL
) STRICT;

CREATE TABLE horse (
    id       TEXT PRIMARY KEY,
    name     TEXT NOT NULL,
    profile  TEXT NOT NULL, -- horse file as given
    remark   TEXT NOT NULL,
    invented INTEGER NOT NULL
) STRICT;

CREATE TABLE combination (
    id       TEXT PRIMARY KEY,
    rider_id TEXT NOT NULL REFERENCES rider (id) ON DELETE CASCADE,
    horse_id TEXT NOT NULL REFERENCES horse (id) ON DELETE CASCADE,
    yard_id  TEXT REFERENCES yard (id) ON DELETE SET NULL,
    level    TEXT NOT NULL,
    remark   TEXT NOT NULL
) STRICT;
CREATE INDEX combination_rider ON combination (rider_id);
CREATE INDEX combination_horse ON combination (horse_id);
CREATE INDEX combination_yard ON combination (yard_id);

-- Versions of a sheet are rows of their own: a ride points at the one it was ridden from.
CREATE TABLE sheet (
    id       TEXT NOT NULL,
    version  INTEGER NOT NULL,
    name     TEXT NOT NULL,
    text     TEXT NOT NULL, -- as given
    saved    TEXT NOT NULL,
    invented INTEGER NOT NULL,
    PRIMARY KEY (id, version)
) STRICT, WITHOUT ROWID;

CREATE TABLE ride (
    id             TEXT PRIMARY KEY,
    combination_id TEXT NOT NULL REFERENCES combination (id) ON DELETE CASCADE,
    sheet_id       TEXT NOT NULL,
    sheet_version  INTEGER NOT NULL,
    date           TEXT NOT NULL,
    kind           TEXT NOT NULL,
    place          TEXT NOT NULL,
    recorder       TEXT NOT NULL,
    rules          TEXT NOT NULL,
    marked_by      TEXT NOT NULL,
    taught         INTEGER NOT NULL,
    opened         TEXT NOT NULL,
    closed         TEXT NOT NULL,
    simulated      INTEGER NOT NULL,
    made           TEXT NOT NULL,
    FOREIGN KEY (sheet_id, sheet_version) REFERENCES sheet (id, version)
) STRICT;
CREATE INDEX ride_combination ON ride (combination_id, date);
CREATE INDEX ride_sheet ON ride (sheet_id, date);
CREATE INDEX ride_date ON ride (date);

CREATE TABLE ride_file (
    ride_id TEXT NOT NULL REFERENCES ride (id) ON DELETE CASCADE,
    role    TEXT NOT NULL,
    seq     INTEGER NOT NULL,
    blob    TEXT NOT NULL, -- SHA-256 of a file in recordings
    name    TEXT NOT NULL,
    media   TEXT NOT NULL,
    size    INTEGER NOT NULL,
    at_s    REAL NOT NULL,
    added   TEXT NOT NULL,
    PRIMARY KEY (ride_id, role, seq)
) STRICT, WITHOUT ROWID;
CREATE INDEX ride_file_blob ON ride_file (blob);

-- Notes and steps are only ever added. The id is made where the note is made, so a resent note
-- finds itself; the unique sequence catches a device that loses count.
CREATE TABLE note (
    id         TEXT PRIMARY KEY,
    ride_id    TEXT NOT NULL REFERENCES ride (id) ON DELETE CASCADE,
    device     TEXT NOT NULL,
    seq        INTEGER NOT NULL,
    kind       TEXT NOT NULL,
    movement   INTEGER NOT NULL,
    collective TEXT NOT NULL,
    judge      TEXT NOT NULL,
    mark       TEXT NOT NULL, -- as entered
    text       TEXT NOT NULL,
    undoes     TEXT NOT NULL,
    at_s       REAL NOT NULL,
    clock      TEXT NOT NULL,
    received   TEXT NOT NULL,
    UNIQUE (ride_id, device, seq)
) STRICT;

CREATE TABLE lesson (
    id             TEXT PRIMARY KEY,
    combination_id TEXT NOT NULL REFERENCES combination (id) ON DELETE CASCADE,
    ride_id        TEXT REFERENCES ride (id) ON DELETE SET NULL,
    date           TEXT NOT NULL,
    minutes        INTEGER NOT NULL,
    warmed_up      INTEGER NOT NULL,
    plan           TEXT NOT NULL,
    homework       TEXT NOT NULL,
    made           TEXT NOT NULL,
    started        TEXT NOT NULL,
    ended          TEXT NOT NULL
) STRICT;
CREATE INDEX lesson_combination ON lesson (combination_id, date);
CREATE INDEX lesson_ride ON lesson (ride_id);

CREATE TABLE step (
    id        TEXT PRIMARY KEY,
    lesson_id TEXT NOT NULL REFERENCES lesson (id) ON DELETE CASCADE,
    seq       INTEGER NOT NULL,
    kind      TEXT NOT NULL,
    block     INTEGER NOT NULL,
    at_s      REAL NOT NULL,
    text      TEXT NOT NULL,
    received  TEXT NOT NULL
) STRICT;
CREATE INDEX step_lesson ON step (lesson_id, seq);

CREATE TABLE appointment (
    id             TEXT PRIMARY KEY,
    combination_id TEXT NOT NULL REFERENCES combination (id) ON DELETE CASCADE,
    yard_id        TEXT REFERENCES yard (id) ON DELETE SET NULL,
    date           TEXT NOT NULL,
    start          TEXT NOT NULL,
    minutes        INTEGER NOT NULL,
    kind           TEXT NOT NULL,
    sheet_id       TEXT NOT NULL,
    lesson_id      TEXT REFERENCES lesson (id) ON DELETE SET NULL,
    remark         TEXT NOT NULL
) STRICT;
CREATE INDEX appointment_date ON appointment (date, start);
CREATE INDEX appointment_combination ON appointment (combination_id);
CREATE INDEX appointment_yard ON appointment (yard_id);
CREATE INDEX appointment_lesson ON appointment (lesson_id);

CREATE TABLE consent (
    id        TEXT PRIMARY KEY,
    rider_id  TEXT NOT NULL REFERENCES rider (id) ON DELETE CASCADE,
    what      TEXT NOT NULL,
    given_by  TEXT NOT NULL,
    guardian  INTEGER NOT NULL,
    given     TEXT NOT NULL,
    withdrawn TEXT NOT NULL
) STRICT;
CREATE INDEX consent_rider ON consent (rider_id, given);

CREATE TABLE computed (
    kind    TEXT NOT NULL,
    subject TEXT NOT NULL,
    stamp   TEXT NOT NULL,
    value   BLOB NOT NULL,
    made    TEXT NOT NULL,
    PRIMARY KEY (subject, kind)
) STRICT;

CREATE TABLE job (
    id       TEXT PRIMARY KEY,
    kind     TEXT NOT NULL,
    subject  TEXT NOT NULL,
    state    TEXT NOT NULL,
    progress REAL NOT NULL,
    message  TEXT NOT NULL,
    tries    INTEGER NOT NULL,
    made     TEXT NOT NULL,
    ended    TEXT NOT NULL
) STRICT;
CREATE INDEX job_subject ON job (subject, made);

-- What was made of a ride goes with it, also when the ride goes because its horse does.
-- +goose StatementBegin
CREATE TRIGGER ride_gone AFTER DELETE ON ride
BEGIN
    DELETE FROM computed WHERE subject = old.id;
    DELETE FROM job WHERE subject = old.id;
END;
-- +goose StatementEnd

-- +goose Down
DROP TRIGGER ride_gone;
DROP TABLE job;
DROP TABLE computed;
DROP TABLE consent;
DROP TABLE appointment;
DROP TABLE step;
DROP TABLE lesson;
DROP TABLE note;
DROP TABLE ride_file;
DROP TABLE ride;
DROP TABLE sheet;
DROP TABLE combination;
DROP TABLE horse;
DROP TABLE rider;
DROP TABLE yard;
