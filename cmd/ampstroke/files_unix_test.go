//go:build unix

package main

import (
	"os"
	"path/filepath"
	"syscall"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// Links lead to the same file under other names, whether it is there or not yet.
func TestOutputsThatMeetThroughLinks(t *testing.T) {
	dir := folder(t)
	require.NoError(t, os.WriteFile("there.png", []byte("old"), 0o666))
	for name, target := range map[string]string{
		"link.png": "there.png", "ahead.png": "later.png", "round.png": "sub/there.png", "sub/there.png": "../later.png", "elsewhere": "sub",
		"link.yaml": "rifle.yaml", "plan.csv": "day.yaml", "study.csv": "study.jsonl", "loop.png": "loop.png", "null.png": os.DevNull, "nil.png": os.DevNull,
	} {
		require.NoError(t, os.Symlink(target, name))
	}
	require.NoError(t, os.Link("there.png", "hard.png"))
	require.NoError(t, os.Link("rifle.yaml", "hard.yaml"))
	require.NoError(t, os.Link("day.yaml", "hard.csv"))
	require.NoError(t, syscall.Mkfifo("pipe.png", 0o600))
	require.NoError(t, os.Link("pipe.png", "same.png"))
	const lost = " is read from the same file; wanted another one, since it would be lost"
	refuse(t, dir, []clash{
		{"link", []string{"cycle", "--plot", "link.png", "--flight", "there.png"}, "--plot: link.png: --flight writes to the same file"},
		{"hard link", []string{"cycle", "--plot", "there.png", "--flight", "hard.png"}, "--plot: there.png: --flight writes to the same file"},
		{"link to what is not there yet", []string{"cycle", "--plot", "ahead.png", "--flight", "later.png"}, "--plot: ahead.png: --flight writes to the same file"},
		{"link to a link", []string{"cycle", "--plot", "round.png", "--pull", "ahead.png"}, "--pull: ahead.png: --plot writes to the same file"},
		{"link to a folder", []string{"cycle", "--plot", "sub/a.png", "--flight", "elsewhere/a.png"}, "--plot: sub/a.png: --flight writes to the same file"},
		{"up from behind a link", []string{"cycle", "--plot", filepath.Join(dir, "a.png"), "--flight", "elsewhere/../a.png"}, "--plot: " + filepath.Join(dir, "a.png") + ": --flight writes to the same file"},
		{"pipe", []string{"cycle", "--plot", "pipe.png", "--flight", "same.png"}, "--plot: pipe.png: --flight writes to the same file"},
		{"the build through a link", []string{"pickup", "rifle.yaml", "--after", "link.yaml"}, "--after: link.yaml: the build" + lost},
		{"the build through a hard link", []string{"pickup", "hard.yaml", "--after", "rifle.yaml"}, "--after: rifle.yaml: the build" + lost},
		{"one of several builds", []string{"compare", "../" + filepath.Base(dir) + "/rifle.yaml", "hard.yaml", "day.yaml", "--trace", "hard.csv"}, "--trace: hard.csv: the build" + lost},
		{"the plan", []string{"heat", "--plan", "day.yaml", "--trace", "plan.csv"}, "--trace: plan.csv: --plan" + lost},
		{"the batch", []string{"cycle", "--batch", "study.jsonl", "--trace", "study.csv"}, "--trace: study.csv: --batch" + lost},
	})
	o := command(t, "cycle", "--plot", "loop.png")
	assert.Equal(t, badInput, o.code)
	assert.Contains(t, o.stderr, "loop.png")
	o = command(t, "cycle", "--plot", "null.png", "--flight", "nil.png")
	assert.Zero(t, o.code, "a device is written to by many: %s", o.stderr)
}
