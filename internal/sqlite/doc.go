// Package sqlite keeps the book and the access lists in one SQLite file. Every commit is synced
// to disk before it is acknowledged. The queries are plain SQL in query/, checked and turned
// into Go (gen/) by sqlc; the schema grows by the numbered files in migrations/.
package sqlite

//go:generate go tool -modfile=../../tools.mod sqlc generate
