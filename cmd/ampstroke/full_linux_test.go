package main

import (
	"fmt"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// A full disk is status 3 wherever it is met: behind standard output, behind a device
// (which is written to directly, never renamed over), and under a file, here for want of
// as many bytes as a file may have. What was there before stays as it was.
func TestFullDisk(t *testing.T) {
	program := built(t)
	t.Chdir(t.TempDir())
	for _, name := range []string{"full.csv", "full.png", "full.svg", "full.yaml"} {
		require.NoError(t, os.Symlink("/dev/full", name))
	}
	device, err := os.Stat("/dev/full")
	require.NoError(t, err)
	for _, c := range []struct {
		shell string
		want  string
	}{
		{`%s cycle >/dev/full`, "can't write the output: write /dev/stdout: no space left on device"},
		{`%s cycle --json >/dev/full`, "no space left on device"},
		{`%s cycle --strict --set "target.rate_of_fire.min=99 /s" >/dev/full`, "no space left on device"},
		{`%s motor >/dev/full`, "no space left on device"},
		{`echo '{}' | %s cycle --batch - >/dev/full`, "no space left on device"},
		{`%s cycle --help >/dev/full`, "no space left on device"},
		{`%s cycle --trace full.csv`, "can't write /dev/full: no space left on device"},
		{`%s cycle --plot full.png`, "can't write /dev/full: no space left on device"},
		{`%s motor --plot full.svg`, "can't write /dev/full: no space left on device"},
		{`%s pickup --after full.yaml`, "can't write /dev/full: no space left on device"},
		{`ulimit -f 1; %s cycle --trace new.csv`, "can't write new.csv: file too large"},
		{`ulimit -f 1; %s cycle --plot old.svg`, "can't write old.svg: file too large"},
		{`ulimit -f 0; %s pickup --after new.yaml`, "can't write new.yaml: file too large"},
	} {
		t.Run(c.shell, func(t *testing.T) {
			require.NoError(t, os.WriteFile("old.svg", []byte("old"), 0o666))
			sh := exec.Command("sh", "-c", fmt.Sprintf(c.shell, program))
			var stdout, stderr strings.Builder
			sh.Stdout, sh.Stderr = &stdout, &stderr
			_ = sh.Run()
			assert.Equal(t, incomplete, sh.ProcessState.ExitCode())
			assert.True(t, strings.HasSuffix(stderr.String(), c.want+"\n"), stderr.String())
			assert.Empty(t, stdout.String())
			entries, err := os.ReadDir(".")
			require.NoError(t, err)
			assert.Len(t, entries, 5, "nothing half-written is left")
			old, err := os.ReadFile("old.svg")
			require.NoError(t, err)
			assert.Equal(t, "old", string(old))
			now, err := os.Stat("/dev/full")
			require.NoError(t, err)
			assert.True(t, os.SameFile(device, now), "the device is still the same")
		})
	}
	o := command(t, "cycle", "--trace", filepath.Join("no", "such", "folder.csv"))
	assert.Equal(t, badInput, o.code, "a name that can't be is bad input")
}

// Who leaves early, such as head, hears nothing more, whether the shell lets the signal
// through or not.
func TestReaderThatLeavesIsToldNothing(t *testing.T) {
	program := built(t)
	for _, shell := range []string{`%s %s | head -n 1`, `trap '' PIPE; %s %s | head -n 1`} {
		for _, command := range []string{"cycle", "cycle --json", "motor", "cycle --batch study.jsonl"} {
			t.Run(shell+command, func(t *testing.T) {
				t.Chdir(t.TempDir())
				require.NoError(t, os.WriteFile("study.jsonl", []byte(strings.Repeat("{}\n", 200)), 0o666))
				sh := exec.Command("sh", "-c", fmt.Sprintf(shell, program, command))
				var stderr strings.Builder
				sh.Stderr = &stderr
				out, err := sh.Output()
				require.NoError(t, err)
				assert.Equal(t, 1, strings.Count(string(out), "\n"))
				assert.Empty(t, stderr.String())
			})
		}
	}
	r, w, err := os.Pipe()
	require.NoError(t, err)
	require.NoError(t, r.Close())
	var stderr strings.Builder
	assert.Equal(t, incomplete, status(run(t.Context(), []string{"cycle"}, strings.NewReader(""), w, &stderr), &stderr))
	assert.Empty(t, stderr.String())
	_, err = io.WriteString(w, "x")
	require.Error(t, err)
}
