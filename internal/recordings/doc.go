// Package recordings keeps what instruments and people gave, byte for byte, in files named by
// their SHA-256. A blob is acknowledged only when its bytes and its name are on disk, and every
// blob that is read is checked against its name.
//
// The order of a write is: a temporary name, sync of the file, rename to the final name, sync
// of the folder. A crash at any point leaves either the whole blob or a temporary file, which
// the next Open of the folder clears away.
package recordings
