package main

import (
	"os"
	"syscall"
	"testing"
	"unsafe"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// A terminal that is wider than a screen is used; a narrower one, a file and what the
// environment says change nothing.
func TestColumnsAreTheTerminals(t *testing.T) {
	t.Setenv("COLUMNS", "300")
	f, err := os.OpenFile("/dev/ptmx", os.O_RDWR|syscall.O_NOCTTY, 0)
	require.NoError(t, err)
	defer f.Close()
	for _, c := range []struct{ width, want int }{{200, 200}, {81, 81}, {40, screen}, {0, screen}} {
		size := [4]uint16{24, uint16(c.width)}
		_, _, errno := syscall.Syscall(syscall.SYS_IOCTL, f.Fd(), syscall.TIOCSWINSZ, uintptr(unsafe.Pointer(&size)))
		require.Zero(t, errno)
		assert.Equal(t, c.want, columns(f))
		assert.Equal(t, c.want, columns(&writer{w: f}), "behind the command's own writer")
	}
	plain, err := os.Create(t.TempDir() + "/out")
	require.NoError(t, err)
	defer plain.Close()
	assert.Equal(t, screen, columns(plain))
}
