-- name: Accounts :many
SELECT * FROM account ORDER BY folded;
-- name: Account :one
SELECT * FROM account WHERE id = ?;
-- name: AccountNamed :one
SELECT * FROM account WHERE folded = ?;
-- name: PutAccount :exec
INSERT INTO account (id, name, folded, role, rider_id, password, made) VALUES (?, ?, ?, ?, ?, ?, ?)
ON CONFLICT (id) DO UPDATE SET name = excluded.name, folded = excluded.folded, role = excluded.role,
    rider_id = excluded.rider_id, password = excluded.password, made = excluded.made;
-- name: RemoveAccount :execrows
DELETE FROM account WHERE id = ?;

-- name: Devices :many
SELECT * FROM device ORDER BY paired DESC, id;
-- name: Device :one
SELECT * FROM device WHERE id = ?;
-- name: PutDevice :exec
INSERT INTO device (id, account, name, paired, seen, put_out) VALUES (?, ?, ?, ?, ?, ?)
ON CONFLICT (id) DO UPDATE SET account = excluded.account, name = excluded.name, paired = excluded.paired, seen = excluded.seen, put_out = excluded.put_out;
-- name: SawDevice :execrows
UPDATE device SET seen = ? WHERE id = ?;
-- name: PutOutDevice :execrows
UPDATE device SET put_out = ? WHERE id = ?;

-- name: PutCode :exec
INSERT INTO code (hash, account, made, expires) VALUES (?, ?, ?, ?)
ON CONFLICT (hash) DO UPDATE SET account = excluded.account, made = excluded.made, expires = excluded.expires;
-- name: DropOldCodes :exec
DELETE FROM code WHERE expires <= ?;
-- name: TakeCode :one
DELETE FROM code WHERE hash = ? RETURNING *;

-- name: Links :many
SELECT * FROM link ORDER BY made DESC, id;
-- name: Link :one
SELECT * FROM link WHERE id = ?;
-- name: LinkByHash :one
SELECT * FROM link WHERE hash = ?;
-- name: PutLink :exec
INSERT INTO link (id, hash, ride_id, note, made, expires) VALUES (?, ?, ?, ?, ?, ?)
ON CONFLICT (id) DO UPDATE SET hash = excluded.hash, ride_id = excluded.ride_id, note = excluded.note, made = excluded.made, expires = excluded.expires;
-- name: RemoveLink :exec
DELETE FROM link WHERE id = ?;

-- name: Session :one
SELECT data, expiry FROM session WHERE token = ?;
-- name: PutSession :exec
INSERT INTO session (token, data, expiry) VALUES (?, ?, ?)
ON CONFLICT (token) DO UPDATE SET data = excluded.data, expiry = excluded.expiry;
-- name: RemoveSession :exec
DELETE FROM session WHERE token = ?;
-- name: DropOldSessions :exec
DELETE FROM session WHERE expiry <= ?;
