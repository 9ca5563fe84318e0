package buildfile_test

import (
	_ "embed"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"example.org/ampstroke/drivetrain"
	"example.org/ampstroke/drivetrain/buildfile"
)

// rifleText is the build file that the tests edit and in which they count lines and
// columns. It is none of the product's, so that a change of the demo moves nothing.
//
//go:embed testdata/rifle.yaml
var rifleText string

// rifleDocument returns the document of the rifle, with overrides.
func rifleDocument(overrides ...string) (*buildfile.Document, error) {
	return buildfile.Parse("rifle.yaml", []byte(rifleText), overrides...)
}

func rifleWith(t testing.TB, overrides ...string) *buildfile.Document {
	t.Helper()
	d, err := rifleDocument(overrides...)
	require.NoError(t, err)
	return d
}

// rifleBuild returns the rifle's build, a new one at each call.
func rifleBuild(t testing.TB) *drivetrain.Build {
	t.Helper()
	return rifleWith(t).Build
}

// changed returns the rifle's text with one thing replaced, which must be there.
func changed(t testing.TB, old, with string) string {
	t.Helper()
	require.Equal(t, 1, strings.Count(rifleText, old), "the rifle has %q once", old)
	return strings.Replace(rifleText, old, with, 1)
}
