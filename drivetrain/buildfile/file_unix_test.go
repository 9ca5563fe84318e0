//go:build unix

package buildfile_test

import (
	"os"
	"path/filepath"
	"strings"
	"syscall"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/ampstroke/drivetrain/buildfile"
)

func TestLinksPipesAndDevices(t *testing.T) {
	dir := t.TempDir()
	in := func(name string) string { return filepath.Join(dir, name) }
	require.NoError(t, os.WriteFile(in("good.yaml"), []byte(rifleText), 0o600))
	require.NoError(t, os.Symlink(in("good.yaml"), in("link.yaml")))
	require.NoError(t, os.Symlink(in("loop.yaml"), in("loop.yaml")))
	require.NoError(t, syscall.Mkfifo(in("pipe.yaml"), 0o600))
	b, err := buildfile.Load(in("link.yaml"))
	require.NoError(t, err, "links are followed")
	assert.Equal(t, rifleBuild(t), b)
	refused(t, in("loop.yaml"), "can't be read: too many levels of symbolic links", "unreadable even for the superuser")
	refused(t, in("good.yaml")+"/x", "can't be read: not a directory", "")
	refused(t, in("pipe.yaml"), "is no regular file", "reading it would never end")
	refused(t, "/dev/zero", "is no regular file", "it has no end")
}

// A file whose name leaves no room for the one beside it can't be replaced, not
// even by the superuser, for whom no folder is read-only.
func TestSaveFailureKeepsTheOldFile(t *testing.T) {
	dir := t.TempDir()
	path := filepath.Join(dir, strings.Repeat("n", 250))
	require.NoError(t, os.WriteFile(path, []byte("old\n"), 0o600))
	_, err := rifleWith(t).Save(path)
	require.ErrorIs(t, err, syscall.ENAMETOOLONG)
	text, err := os.ReadFile(path)
	require.NoError(t, err)
	assert.Equal(t, "old\n", string(text))
	assert.Len(t, names(t, dir), 1, "nothing half-written is left")

	// For anybody else a folder may be read-only.
	closed := filepath.Join(dir, "closed")
	require.NoError(t, os.Mkdir(closed, 0o700))
	kept := filepath.Join(closed, "rifle.yaml")
	require.NoError(t, os.WriteFile(kept, []byte("old\n"), 0o600))
	require.NoError(t, os.Chmod(closed, 0o500))
	defer os.Chmod(closed, 0o700)
	want := "old\n"
	if _, err = rifleWith(t).Save(kept); err == nil {
		require.Zero(t, os.Geteuid(), "only the superuser may write here")
		want = rifleText
	}
	text, err = os.ReadFile(kept)
	require.NoError(t, err)
	assert.Equal(t, want, string(text))
	assert.Equal(t, []string{"rifle.yaml"}, names(t, closed))
}
