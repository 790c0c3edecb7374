package track

// Limits of every importer. They are far above a day of riding and far below what would
// harm the machine; a file beyond one of them is refused with a message.
const (
	// MaxBytes is the largest file read, 256 MiB (1 hour of 100 Hz motion is about 30 MB).
	MaxBytes = 256 << 20
	// MaxFixes is the most positions of one recording (24 h at 20 Hz).
	MaxFixes = 2_000_000
	// MaxMotion is the most motion samples of one recording (5.5 h at 200 Hz).
	MaxMotion = 4_000_000
	// MaxLine is the longest line of a text file in bytes.
	MaxLine = 64 << 10
	// MaxDepth is the deepest nesting of elements in an XML file.
	MaxDepth = 64
	// MaxColumns is the most columns of a CSV file.
	MaxColumns = 256
	// MaxXMLToken is the longest single text or tag of an XML file in bytes.
	MaxXMLToken = 1 << 20
	// MinFixes is the fewest positions that make a recording, MinMotion the fewest motion
	// samples: with less there is nothing to smooth and no rhythm to find.
	MinFixes  = 10
	MinMotion = 100
	// MaxSpan is the longest time from first to last sample, in seconds (a week). Longer means the
	// times are not what they seem.
	MaxSpan = 7 * 86400
)
