package recordings

import "os"

// syncDir does nothing: a folder cannot be synced on Windows, where NTFS journals its names.
func syncDir(*os.File) error { return nil }
