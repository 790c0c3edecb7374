//go:build !windows

package recordings

import "os"

func syncDir(d *os.File) error { return d.Sync() }
