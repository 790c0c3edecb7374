// Package logbook is the trainer's book: riders, horses, combinations, sheets, rides, lessons
// and what was noted of them, and the things one does with the book. What people and
// instruments gave is kept as it came; what Ringcraft computes from it is kept beside it only
// as a cache, named by its inputs and by the versions of what computed it.
//
// The package knows no file, no network and no clock. It says what it needs of the world as
// three interfaces (Store, Recordings, Jobs) that other rooms fill, and the clock and the maker
// of ids are passed in.
package logbook
