-- name: Yards :many
SELECT * FROM yard ORDER BY lower(name), id;
-- name: PutYard :exec
INSERT INTO yard (id, name, place, arena, remark, invented) VALUES (?, ?, ?, ?, ?, ?)
ON CONFLICT (id) DO UPDATE SET name = excluded.name, place = excluded.place, arena = excluded.arena, remark = excluded.remark, invented = excluded.invented;
-- name: RemoveYard :exec
DELETE FROM yard WHERE id = ?;

-- name: Riders :many
SELECT * FROM rider ORDER BY lower(name), id;
-- name: Rider :one
SELECT * FROM rider WHERE id = ?;
-- name: PutRider :exec
INSERT INTO rider (id, name, minor, remark, invented) VALUES (?, ?, ?, ?, ?)
ON CONFLICT (id) DO UPDATE SET name = excluded.name, minor = excluded.minor, remark = excluded.remark, invented = excluded.invented;
-- name: RemoveRider :exec
DELETE FROM rider WHERE id = ?;

-- name: Horses :many
SELECT * FROM horse ORDER BY lower(name), id;
-- name: Horse :one
SELECT * FROM horse WHERE id = ?;
-- name: PutHorse :exec
INSERT INTO horse (id, name, profile, remark, invented) VALUES (?, ?, ?, ?, ?)
ON CONFLICT (id) DO UPDATE SET name = excluded.name, profile = excluded.profile, remark = excluded.remark, invented = excluded.invented;
-- name: RemoveHorse :exec
DELETE FROM horse WHERE id = ?;

-- name: Combinations :many
SELECT * FROM combination ORDER BY id;
-- name: Combination :one
SELECT * FROM combination WHERE id = ?;
-- name: PutCombination :exec
INSERT INTO combination (id, rider_id, horse_id, yard_id, level, remark) VALUES (?, ?, ?, ?, ?, ?)
ON CONFLICT (id) DO UPDATE SET rider_id = excluded.rider_id, horse_id = excluded.horse_id, yard_id = excluded.yard_id, level = excluded.level, remark = excluded.remark;

-- name: Sheets :many
SELECT * FROM sheet s WHERE version = (SELECT max(version) FROM sheet t WHERE t.id = s.id) ORDER BY lower(name), id;
-- name: Sheet :one
SELECT * FROM sheet WHERE id = ? ORDER BY version DESC LIMIT 1;
-- name: SheetVersion :one
SELECT * FROM sheet WHERE id = ? AND version = ?;
-- name: LatestSheetVersion :one
SELECT CAST(coalesce(max(version), 0) AS INTEGER) FROM sheet WHERE id = ?;
-- name: AddSheet :exec
INSERT INTO sheet (id, version, name, text, saved, invented) VALUES (?, ?, ?, ?, ?, ?);
-- name: RemoveSheet :exec
DELETE FROM sheet WHERE id = ?;
-- name: ForgetSheetOfAppointments :exec
UPDATE appointment SET sheet_id = '' WHERE sheet_id = ?;

-- name: Rides :many
SELECT * FROM ride
WHERE (CAST(sqlc.arg(combination) AS TEXT) = '' OR combination_id = sqlc.arg(combination))
  AND (CAST(sqlc.arg(sheet) AS TEXT) = '' OR sheet_id = sqlc.arg(sheet))
ORDER BY date DESC, id DESC LIMIT sqlc.arg(most);
-- name: RidesOf :many
SELECT * FROM ride WHERE combination_id = ? ORDER BY date DESC, id DESC LIMIT ?;
-- name: Ride :one
SELECT * FROM ride WHERE id = ?;
-- name: CountRidesOfSheet :one
SELECT count(*) FROM ride WHERE sheet_id = ?;
-- name: PutRide :exec
INSERT INTO ride (id, combination_id, sheet_id, sheet_version, date, kind, place, recorder, rules, marked_by, taught, opened, closed, simulated, made)
VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)
ON CONFLICT (id) DO UPDATE SET combination_id = excluded.combination_id, sheet_id = excluded.sheet_id, sheet_version = excluded.sheet_version,
    date = excluded.date, kind = excluded.kind, place = excluded.place, recorder = excluded.recorder, rules = excluded.rules,
    marked_by = excluded.marked_by, taught = excluded.taught, opened = excluded.opened, closed = excluded.closed,
    simulated = excluded.simulated, made = excluded.made;
-- name: RemoveRide :exec
DELETE FROM ride WHERE id = ?;
-- name: FilesOf :many
SELECT * FROM ride_file WHERE ride_id IN (sqlc.slice(rides)) ORDER BY ride_id, role, seq;
-- name: RideFile :one
SELECT * FROM ride_file WHERE ride_id = ? AND role = ? AND seq = ?;
-- name: AddRideFile :exec
INSERT INTO ride_file (ride_id, role, seq, blob, name, media, size, at_s, added) VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?);
-- name: RemoveRideFiles :exec
DELETE FROM ride_file WHERE ride_id = ?;

-- name: Notes :many
SELECT * FROM note WHERE ride_id = ? ORDER BY device, seq, id;
-- name: NoteKnown :one
SELECT count(*) FROM note WHERE id = ?;
-- name: NoteTaken :one
SELECT count(*) FROM note WHERE ride_id = ? AND device = ? AND seq = ?;
-- name: AddNote :exec
INSERT INTO note (id, ride_id, device, seq, kind, movement, collective, judge, mark, text, undoes, at_s, clock, received)
VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?);

-- name: Lessons :many
SELECT * FROM lesson
WHERE (CAST(sqlc.arg(combination) AS TEXT) = '' OR combination_id = sqlc.arg(combination))
  AND (CAST(sqlc.arg(ride) AS TEXT) = '' OR ride_id = sqlc.arg(ride))
ORDER BY date DESC, id DESC LIMIT sqlc.arg(most);
-- name: Lesson :one
SELECT * FROM lesson WHERE id = ?;
-- name: PutLesson :exec
INSERT INTO lesson (id, combination_id, ride_id, date, minutes, warmed_up, plan, homework, made, started, ended)
VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)
ON CONFLICT (id) DO UPDATE SET combination_id = excluded.combination_id, ride_id = excluded.ride_id, date = excluded.date,
    minutes = excluded.minutes, warmed_up = excluded.warmed_up, plan = excluded.plan, homework = excluded.homework,
    made = excluded.made, started = excluded.started, ended = excluded.ended;
-- name: RemoveLesson :exec
DELETE FROM lesson WHERE id = ?;
-- name: Steps :many
SELECT * FROM step WHERE lesson_id = ? ORDER BY seq, id;
-- name: AddStep :execrows
INSERT INTO step (id, lesson_id, seq, kind, block, at_s, text, received) VALUES (?, ?, ?, ?, ?, ?, ?, ?)
ON CONFLICT (id) DO NOTHING;

-- name: Appointments :many
SELECT * FROM appointment WHERE date >= sqlc.arg(first) AND date <= sqlc.arg(last) ORDER BY date, start, id;
-- name: PutAppointment :exec
INSERT INTO appointment (id, combination_id, yard_id, date, start, minutes, kind, sheet_id, lesson_id, remark)
VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?)
ON CONFLICT (id) DO UPDATE SET combination_id = excluded.combination_id, yard_id = excluded.yard_id, date = excluded.date,
    start = excluded.start, minutes = excluded.minutes, kind = excluded.kind, sheet_id = excluded.sheet_id,
    lesson_id = excluded.lesson_id, remark = excluded.remark;
-- name: RemoveAppointment :exec
DELETE FROM appointment WHERE id = ?;

-- name: Consents :many
SELECT * FROM consent WHERE rider_id = ? ORDER BY given, id;
-- name: PutConsent :exec
INSERT INTO consent (id, rider_id, what, given_by, guardian, given, withdrawn) VALUES (?, ?, ?, ?, ?, ?, ?)
ON CONFLICT (id) DO UPDATE SET rider_id = excluded.rider_id, what = excluded.what, given_by = excluded.given_by,
    guardian = excluded.guardian, given = excluded.given, withdrawn = excluded.withdrawn;

-- name: Computed :one
SELECT * FROM computed WHERE kind = ? AND subject = ?;
-- name: PutComputed :exec
INSERT INTO computed (kind, subject, stamp, value, made) VALUES (?, ?, ?, ?, ?)
ON CONFLICT (subject, kind) DO UPDATE SET stamp = excluded.stamp, value = excluded.value, made = excluded.made;
-- name: RemoveComputed :exec
DELETE FROM computed WHERE subject = ?;

-- name: Job :one
SELECT * FROM job WHERE id = ?;
-- name: JobsOf :many
SELECT * FROM job WHERE subject = ? ORDER BY made DESC, id DESC;
-- name: JobsNotOver :many
SELECT * FROM job WHERE state IN ('waiting', 'running') ORDER BY made DESC, id DESC;
-- name: PutJob :exec
INSERT INTO job (id, kind, subject, state, progress, message, tries, made, ended) VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?)
ON CONFLICT (id) DO UPDATE SET kind = excluded.kind, subject = excluded.subject, state = excluded.state,
    progress = excluded.progress, message = excluded.message, tries = excluded.tries, made = excluded.made, ended = excluded.ended;
-- name: RemoveJobs :exec
DELETE FROM job WHERE subject = ?;

-- name: BlobsInUse :many
SELECT DISTINCT blob FROM ride_file ORDER BY blob;
