-- name: Exercises :many
SELECT * FROM exercise ORDER BY id;
-- name: PutExercise :exec
INSERT INTO exercise (id, text, saved) VALUES (?, ?, ?)
ON CONFLICT (id) DO UPDATE SET text = excluded.text, saved = excluded.saved;
-- name: RemoveExercise :exec
DELETE FROM exercise WHERE id = ?;
