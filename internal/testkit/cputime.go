//go:build unix

package testkit

import (
	"syscall"
	"testing"
	"time"
)

// CPUTime is the processor time, user and system, that this process has taken. On a shared machine
// it says more than the clock.
func CPUTime(t testing.TB) time.Duration {
	t.Helper()
	var u syscall.Rusage
	if err := syscall.Getrusage(syscall.RUSAGE_SELF, &u); err != nil {
		t.Fatal(err)
	}
	return time.Duration(u.Utime.Nano() + u.Stime.Nano())
}
