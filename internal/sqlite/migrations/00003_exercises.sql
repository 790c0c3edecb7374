-- Exercises of the trainer's own, as JSON in the form of those that come with Ringcraft.

-- +goose Up
CREATE TABLE exercise (
    id    TEXT PRIMARY KEY,
    text  TEXT NOT NULL, -- as given
    saved TEXT NOT NULL
) STRICT;

-- +goose Down
DROP TABLE exercise;
