//go:build !unix

package testkit

import (
	"testing"
	"time"
)

// CPUTime is not known here.
func CPUTime(testing.TB) time.Duration { return 0 }
