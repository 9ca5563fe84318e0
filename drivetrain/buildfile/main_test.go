package buildfile_test

import (
	"os"
	"runtime/debug"
	"testing"
)

// A file that is read leaves much to collect, and the tests read thousands: collecting less
// often takes a third of their time away.
func TestMain(m *testing.M) {
	debug.SetGCPercent(400)
	os.Exit(m.Run())
}
