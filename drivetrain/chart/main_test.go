package chart_test

import (
	"os"
	"runtime/debug"
	"testing"
)

// Pictures are large and soon forgotten: collecting less often takes a tenth of the tests'
// time away.
func TestMain(m *testing.M) {
	debug.SetGCPercent(400)
	os.Exit(m.Run())
}
