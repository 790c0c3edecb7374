// Package jobs does long work in the background: one piece at a time per worker, with progress,
// with cancel, and with its state in the store, so that work that was cut off by a stop of the
// program is taken up again at the next start. It also runs a command of the user's choice
// (a transcriber) and keeps it inside limits.
package jobs
