// Package backup keeps copies of a store and proves them: one checksummed file made while the
// server runs, a restore that proves before it replaces and keeps what was there, a check of every
// recording and reference, a daily copy, and an export of everything in open formats.
//
// It knows the store only by logbook's interfaces and a few functions that the command wires in.
package backup
