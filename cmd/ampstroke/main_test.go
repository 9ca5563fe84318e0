package main

import (
	"fmt"
	"os"
	"runtime/debug"
	"testing"

	"github.com/stretchr/testify/require"
)

// asProgram is an environment variable: a test binary that has it is the command.
const asProgram = "AMPSTROKE_TEST_AS_PROGRAM"

// common is a folder for what several tests look at.
var common string

func TestMain(m *testing.M) {
	if os.Getenv(asProgram) != "" {
		main()
		return
	}
	debug.SetGCPercent(400) // a command is short, and hundreds of them run
	os.Exit(func() int {
		var err error
		if common, err = os.MkdirTemp("", "ampstroke"); err != nil {
			fmt.Fprintln(os.Stderr, err)
			return 1
		}
		defer os.RemoveAll(common)
		return m.Run()
	}())
}

// built returns the command as a program: the tests' own binary, which is that for whoever
// starts it from this test on.
func built(t *testing.T) string {
	path, err := os.Executable()
	require.NoError(t, err)
	t.Setenv(asProgram, "1")
	return path
}
