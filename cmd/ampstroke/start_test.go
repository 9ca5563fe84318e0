package main

import (
	"context"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/ampstroke/drivetrain/buildfile"
)

func TestStart(t *testing.T) {
	for name, c := range map[string]struct {
		flags []string
		want  buildfile.Settings
	}{
		"full":  {nil, buildfile.Settings{}},
		"bench": {[]string{"--bench"}, buildfile.Settings{Bench: true}},
		"short": {[]string{"--short"}, buildfile.Settings{Short: true}},
		"both":  {[]string{"--short", "--bench"}, buildfile.Settings{Bench: true, Short: true}},
	} {
		t.Run(name, func(t *testing.T) {
			dir := t.TempDir()
			path := filepath.Join(dir, "my rifle.yaml")
			o := command(t, append([]string{"start", path}, c.flags...)...)
			require.Zero(t, o.code, o.stderr)
			assert.Empty(t, o.stdout)
			assert.Equal(t, "wrote "+path+"\n", o.stderr)
			text, err := os.ReadFile(path)
			require.NoError(t, err)
			assert.Equal(t, string(buildfile.Start(c.want)), string(text))
			entries, err := os.ReadDir(dir)
			require.NoError(t, err)
			assert.Len(t, entries, 1, "nothing else is left")
			assert.Zero(t, command(t, "cycle", path).code)
		})
	}
	path := filepath.Join(t.TempDir(), "a.yml")
	require.Zero(t, command(t, "start", path).code)
	assert.Equal(t, command(t, "cycle").stdout, command(t, "cycle", path).stdout, "the demo's figures and findings")
}

func TestStartRefuses(t *testing.T) {
	dir := t.TempDir()
	there := file(t, "mine")
	link := filepath.Join(dir, "link.yaml")
	require.NoError(t, os.Symlink(filepath.Join(dir, "nowhere.yaml"), link))
	for _, c := range []struct {
		args []string
		want string
	}{
		{[]string{there}, there + " is there already; wanted the name of a new file"},
		{[]string{link}, "is there already"},
		{[]string{filepath.Join(dir, "none", "a.yaml")}, "no such file or directory"},
		{nil, "no file is given"},
		{[]string{"a.yaml", "b.yaml"}, "more than one file"},
		{[]string{"rifle.txt"}, "rifle.txt: wanted a file name that ends in .yaml"},
		{[]string{"-"}, "wanted a file name that ends in .yaml"},
		{[]string{"a.yaml", "--brief"}, "unknown flag"},
	} {
		o := command(t, append([]string{"start"}, c.args...)...)
		assert.Equal(t, badInput, o.code, c.args)
		assert.Contains(t, o.stderr, c.want)
		assert.Empty(t, o.stdout)
	}
	text, err := os.ReadFile(there)
	require.NoError(t, err)
	assert.Equal(t, "mine", string(text))
	entries, err := os.ReadDir(dir)
	require.NoError(t, err)
	assert.Len(t, entries, 1, "the link alone")
}

func TestStartInterrupted(t *testing.T) {
	ctx, stop := context.WithCancel(context.Background())
	stop()
	dir := t.TempDir()
	o := commandIn(t, ctx, "start", filepath.Join(dir, "a.yaml"))
	assert.Equal(t, interrupted, o.code)
	entries, err := os.ReadDir(dir)
	require.NoError(t, err)
	assert.Empty(t, entries)
}
