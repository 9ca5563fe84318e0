package flight_test

import (
	"os"
	"runtime/debug"
	"testing"
)

// Courses and texts are large and soon forgotten: collecting less often takes a tenth and
// more of the tests' time away.
func TestMain(m *testing.M) {
	debug.SetGCPercent(400)
	os.Exit(m.Run())
}
