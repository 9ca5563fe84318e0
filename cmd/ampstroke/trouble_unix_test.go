//go:build unix

package main

import (
	"bufio"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// A reader that leaves early, such as head -1, ends the program quietly or with
// status 3, never with a panic.
func TestClosedPipe(t *testing.T) {
	program := built(t)
	for _, args := range [][]string{{"cycle"}, {"cycle", "--json"}, {"motor"}, {"heat"}, {"heat", "--json"}, {"compare", "../../examples/builds/twice.yaml", "../../examples/builds/braked.yaml"}} {
		c := exec.Command(program, args...)
		stdout, err := c.StdoutPipe()
		require.NoError(t, err)
		var stderr strings.Builder
		c.Stderr = &stderr
		require.NoError(t, c.Start())
		line, err := bufio.NewReaderSize(stdout, 16).ReadString('\n')
		if err != nil {
			require.ErrorIs(t, err, io.EOF)
		}
		assert.NotEmpty(t, line)
		require.NoError(t, stdout.Close())
		_ = c.Wait() // it may be ended by the signal, or by itself
		assert.NotContains(t, stderr.String(), "panic")
		assert.NotContains(t, stderr.String(), "goroutine")
	}
}

// An interrupt in a long run leaves nothing behind and ends with status 130.
func TestInterruptLeavesNothing(t *testing.T) {
	program := built(t)
	// A machine may be so busy that the program has not begun when the signal comes,
	// or so quick that it is done: then later, or sooner.
	for _, wait := range []time.Duration{300, 900, 2000, 100} {
		if interrupts(t, program, wait*time.Millisecond) {
			return
		}
	}
	assert.Fail(t, "no interrupt met the run")
}

// interrupts tells whether a signal after a time met the run, and holds what it leaves.
func interrupts(t *testing.T, program string, wait time.Duration) bool {
	dir := t.TempDir()
	c := exec.Command(program, "cycle", "--set", "trigger.rounds=1000", "--set", "battery.capacity=9000 mAh",
		"--plot", filepath.Join(dir, "a.png"), "--trace", filepath.Join(dir, "a.csv"), "--flight", filepath.Join(dir, "b.svg"))
	var stdout, stderr strings.Builder
	c.Stdout, c.Stderr = &stdout, &stderr
	require.NoError(t, c.Start())
	time.Sleep(wait) // the run takes seconds
	_ = c.Process.Signal(syscall.SIGINT)
	_ = c.Wait()
	if c.ProcessState.ExitCode() != interrupted {
		return false
	}
	assert.Contains(t, stderr.String(), "interrupted")
	assert.Empty(t, stdout.String())
	entries, err := os.ReadDir(dir)
	require.NoError(t, err)
	assert.Empty(t, entries)
	return true
}

// Build files from other systems, and names with blanks, are read like any other.
func TestForeignFiles(t *testing.T) {
	want := command(t, "cycle", "--json")
	for name, text := range map[string]string{
		"with carriage returns.yaml": strings.ReplaceAll(demoText(), "\n", "\r\n"),
		"with a mark.yaml":           "\xef\xbb\xbf" + demoText(),
		"mit Umläuten 銃.yaml":        demoText(),
	} {
		path := filepath.Join(t.TempDir(), name)
		require.NoError(t, os.WriteFile(path, []byte(text), 0o666))
		o := command(t, "cycle", path, "--json", "--plot", filepath.Join(t.TempDir(), "my picture.png"))
		assert.Zero(t, o.code, o.stderr)
		assert.Equal(t, want.stdout, o.stdout, name)
	}
}

// Where a file can't be written, the error names it, and nothing half-written stays.
func TestUnwritable(t *testing.T) {
	dir := t.TempDir()
	blocked := filepath.Join(dir, "file")
	require.NoError(t, os.WriteFile(blocked, []byte("in the way"), 0o666))
	for _, path := range []string{filepath.Join(dir, "no such folder", "a.png"), filepath.Join(blocked, "a.png")} {
		for _, flag := range []string{"--plot", "--flight"} {
			o := command(t, "cycle", flag, path)
			assert.NotZero(t, o.code)
			assert.Contains(t, o.stderr, path)
			assert.Empty(t, o.stdout)
		}
	}
	old := filepath.Join(dir, "old.csv")
	require.NoError(t, os.WriteFile(old, []byte("old"), 0o666))
	o := command(t, "cycle", "--trace", old)
	assert.Zero(t, o.code)
	assert.Contains(t, o.stderr, "replaced "+old)
	entries, err := os.ReadDir(dir)
	require.NoError(t, err)
	assert.Len(t, entries, 2)
}
