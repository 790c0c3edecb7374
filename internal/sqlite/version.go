package sqlite

// SchemaVersion is the newest schema this program knows.
func SchemaVersion() int64 { return latestVersion() }
