package main

import (
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"runtime/debug"
	"sync"
	"testing"

	"github.com/stretchr/testify/require"
)

// bin is where the command is built as a program.
var bin string

func TestMain(m *testing.M) {
	debug.SetGCPercent(400) // a command is short, and hundreds of them run
	os.Exit(func() int {
		var err error
		if bin, err = os.MkdirTemp("", "ampstroke"); err != nil {
			fmt.Fprintln(os.Stderr, err)
			return 1
		}
		defer os.RemoveAll(bin)
		return m.Run()
	}())
}

var program = sync.OnceValues(func() (string, error) {
	path := filepath.Join(bin, "ampstroke")
	out, err := exec.Command("go", "build", "-o", path, ".").CombinedOutput()
	if err != nil {
		err = fmt.Errorf("%w: %s", err, out)
	}
	return path, err
})

// built returns the command as a program, the same one for all tests.
func built(t *testing.T) string {
	path, err := program()
	require.NoError(t, err)
	return path
}
