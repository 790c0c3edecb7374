package logbook_test

import (
	"testing"

	"ringcraft/internal/logbook"
	"ringcraft/internal/logbook/booktest"
)

func TestMemoryKeepsTheContract(t *testing.T) {
	booktest.Contract(t, func(*testing.T) logbook.Store { return logbook.NewMemory() })
}
