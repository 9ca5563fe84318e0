package buildfile_test

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"testing/iotest"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/ampstroke/drivetrain/buildfile"
	"example.org/ampstroke/drivetrain/quantity"
)

func refused(t *testing.T, path, want, reason string) {
	t.Helper()
	b, err := buildfile.Load(path)
	require.ErrorContains(t, err, want, reason)
	assert.ErrorAs(t, err, new(*quantity.Fault))
	assert.Nil(t, b)
	assert.True(t, strings.HasPrefix(err.Error(), path+": "), "the file is named")
	d, err := buildfile.Read(path, "spring.rate=700 N/m")
	assert.ErrorContains(t, err, want, reason)
	assert.Nil(t, d)
}

func TestFiles(t *testing.T) {
	dir := t.TempDir()
	good := filepath.Join(dir, "good.yaml")
	require.NoError(t, os.WriteFile(good, []byte(rifleText), 0o600))
	b, err := buildfile.Load(good)
	require.NoError(t, err)
	assert.Equal(t, rifleBuild(t), b)
	d, err := buildfile.Read(good, "spring.rate=700 N/m")
	require.NoError(t, err)
	assert.Equal(t, 700., d.Build.Spring.Rate)

	large := filepath.Join(dir, "large.yaml")
	require.NoError(t, os.WriteFile(large, make([]byte, 10<<20), 0o600))
	refused(t, large, "larger than 256 KiB", "no more of it is read")
	refused(t, filepath.Join(dir, "none.yaml"), "there is no such file", "")
	refused(t, dir, "is a folder; wanted a build file", "")
	_, err = buildfile.Load("")
	assert.ErrorContains(t, err, "there is no such file")
}

// What keeps a file from being read is told by errors.Is, as of any file in Go.
func TestUnreadable(t *testing.T) {
	missing := filepath.Join(t.TempDir(), "none.yaml")
	broken := errors.New("the line broke")
	for name, read := range map[string]func(string) error{
		"Load":     func(path string) error { _, err := buildfile.Load(path); return err },
		"Read":     func(path string) error { _, err := buildfile.Read(path, "spring.rate=700 N/m"); return err },
		"LoadPlan": func(path string) error { _, err := buildfile.LoadPlan(path); return err },
	} {
		err := read(missing)
		assert.ErrorIs(t, err, fs.ErrNotExist, name)
		assert.EqualError(t, err, missing+": there is no such file", name)
		assert.NotErrorIs(t, read(t.TempDir()), fs.ErrNotExist, name)
	}
	_, err := buildfile.ReadFrom(iotest.ErrReader(broken), "stdin")
	assert.ErrorIs(t, err, broken)
	assert.EqualError(t, err, "stdin: can't be read: the line broke")
}

// What shows after reading gets its place from the document, as what showed then has.
func TestPlaced(t *testing.T) {
	d := rifleWith(t, "spring.rate=700 N/m")
	var c quantity.Check
	c.Range("spring.rate", 1, quantity.SpringRate, 10, 20)
	c.Add("piston.mass", "is odd")
	c.Add("", "all is odd")
	faults := quantity.Faults(d.Placed(fmt.Errorf("looked at later: %w", c.Err())))
	require.Len(t, faults, 3)
	assert.Equal(t, quantity.Place{Override: "spring.rate=700 N/m"}, faults[0].Place)
	_, hi, ok := faults[0].Range()
	assert.True(t, ok, "the range is kept")
	assert.Equal(t, 20., hi)
	place, found := d.Position("piston.mass")
	require.True(t, found)
	assert.Equal(t, place, faults[1].Place)
	assert.Equal(t, quantity.Place{}, faults[2].Place)
	assert.EqualError(t, faults[2], "all is odd")
	assert.NoError(t, d.Placed(nil))
}

func TestSave(t *testing.T) {
	dir := t.TempDir()
	path := filepath.Join(dir, "rifle.yaml")
	d := rifleWith(t, "spring.rate=700 N/m")
	replaced, err := d.Save(path)
	require.NoError(t, err)
	assert.False(t, replaced)
	require.NoError(t, d.Set("spring.rate", "720 N/m"))
	replaced, err = d.Save(path)
	require.NoError(t, err)
	assert.True(t, replaced)

	text, err := os.ReadFile(path)
	require.NoError(t, err)
	assert.Equal(t, strings.Replace(rifleText, "680 N/m", "720 N/m", 1), string(text))
	b, err := buildfile.Load(path)
	require.NoError(t, err)
	assert.Equal(t, d.Build, b)
	assert.Equal(t, []string{"rifle.yaml"}, names(t, dir), "nothing is left beside it")
}

func names(t *testing.T, dir string) (all []string) {
	entries, err := os.ReadDir(dir)
	require.NoError(t, err)
	for _, e := range entries {
		all = append(all, e.Name())
	}
	return all
}

func TestSaveRefuses(t *testing.T) {
	dir := t.TempDir()
	d := rifleWith(t)
	_, err := d.Save(filepath.Join(dir, "none", "rifle.yaml"))
	assert.ErrorIs(t, err, os.ErrNotExist)
	_, err = d.Save(dir)
	assert.ErrorContains(t, err, "is a folder")
	assert.Empty(t, names(t, dir), "nothing half-written is left")
}
