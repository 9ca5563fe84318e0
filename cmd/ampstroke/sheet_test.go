package main

import (
	"encoding/json"
	"os"
	"path/filepath"
	"runtime"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestSheet(t *testing.T) {
	path := filepath.Join(t.TempDir(), "demo.html")
	o := command(t, "sheet", "--out", path, "--for", "Ada's club", "--set", "gears.ratio=12")
	require.Zero(t, o.code, o.stderr)
	assert.Contains(t, unbroken(o.stdout), "Woodland club rifle: the sheet is in "+path)
	assert.Contains(t, o.stdout, "target met: rate of fire")
	assert.Equal(t, "wrote "+path+"\n", o.stderr)
	page, err := os.ReadFile(path)
	require.NoError(t, err)
	for _, part := range []string{
		"<title>Woodland club rifle</title>", "Ada&#39;s club",
		"ampstroke sheet --set gears.ratio=12 --for &#39;Ada&#39;\\&#39;&#39;s club&#39; --out FILE", "What gives out first",
	} {
		assert.True(t, strings.Contains(string(page), part), part)
	}
	again := filepath.Join(t.TempDir(), "again.html")
	o = command(t, "sheet", "--out", again, "--for", "Ada's club", "--set", "gears.ratio=12", "--json", "--strict")
	require.Zero(t, o.code, o.stderr)
	var document map[string]any
	require.NoError(t, json.Unmarshal([]byte(o.stdout), &document))
	assert.Equal(t, again, document["out"])
	other, err := os.ReadFile(again)
	require.NoError(t, err)
	assert.True(t, string(page) == string(other), "where it goes changes nothing")
	assert.EqualValues(t, len(other), document["bytes"])
	o = command(t, "sheet", "--out", again, "--set", "battery.series=3", "--strict")
	assert.Equal(t, missed, o.code)
	assert.Contains(t, o.stderr, "replaced "+again)
}

func TestSheetRefuses(t *testing.T) {
	dir := t.TempDir()
	page, readings := filepath.Join(dir, "page.html"), filepath.Join(dir, "r.yaml")
	require.NoError(t, os.WriteFile(readings, []byte("readings:\n- {figure: rate_of_fire, value: 22 /s ± 1 /s, with: {rack.teeth: 3}}\n"), 0o666))
	for _, c := range []struct {
		name string
		args []string
		want string
	}{
		{"no name", nil, "--out: is missing; wanted the name of the page"},
		{"another ending", []string{"--out", "page.txt"}, "wanted a file name that ends in .html or .pdf"},
		{"standard input twice", []string{"-", "--against", "-", "--out", page}, "the build comes from standard input (-) already"},
		{"no such readings", []string{"--readings", "none.yaml", "--out", page}, "none.yaml: there is no such file"},
		{"readings of another build", []string{"--readings", readings, "--out", page}, readings + ":2:"},
		{"no such plan", []string{"--plan", "none.yaml", "--out", page}, "none.yaml: there is no such file"},
		{"over what is read", []string{"--readings", page, "--out", page}, "is read from the same file"},
	} {
		t.Run(c.name, func(t *testing.T) {
			o := command(t, append([]string{"sheet"}, c.args...)...)
			assert.Equal(t, badInput, o.code)
			assert.Contains(t, o.stderr, c.want)
			assert.NoFileExists(t, page)
		})
	}
}

// A PDF wants a browser, and what it says is passed on.
func TestSheetAsPDF(t *testing.T) {
	if runtime.GOOS == "windows" {
		return // where a script is no program
	}
	dir := t.TempDir()
	t.Setenv("PATH", dir)
	out := filepath.Join(dir, "page.pdf")
	o := command(t, "sheet", "--out", out)
	assert.Equal(t, badInput, o.code)
	assert.Contains(t, o.stderr, "none is found; write the page itself with a name that ends in .html, open it in any browser and print it there")
	browser := func(script string) {
		require.NoError(t, os.WriteFile(filepath.Join(dir, "chromium"), []byte("#!/bin/sh\n"+script), 0o777))
	}
	browser("echo it has a cold >&2; exit 1")
	o = command(t, "sheet", "--out", out)
	assert.Equal(t, incomplete, o.code)
	assert.Contains(t, o.stderr, "it has a cold")
	assert.NoFileExists(t, out)
	browser("exit 0")
	o = command(t, "sheet", "--out", out)
	assert.Equal(t, incomplete, o.code, "a browser that prints nothing")
	browser(`for a; do case "$a" in --print-to-pdf=*) echo "%PDF-1.4 /CreationDate (D:20261126184253+00'00') end" > "${a#--print-to-pdf=}";; esac; done`)
	o = command(t, "sheet", "--out", out)
	require.Zero(t, o.code, o.stderr)
	text, err := os.ReadFile(out)
	require.NoError(t, err)
	assert.Equal(t, "%PDF-1.4 /CreationDate (D:20000101000000+00'00') end\n", string(text))
	left, err := filepath.Glob(filepath.Join(os.TempDir(), "ampstroke-*", "sheet.html"))
	require.NoError(t, err)
	assert.Empty(t, left, "nothing is left behind")
}

func TestQuoted(t *testing.T) {
	for word, want := range map[string]string{
		"rifle.yaml": "rifle.yaml", "two words": "'two words'", "": "''", "it's": `'it'\''s'`, "$(x)": "'$(x)'", "spring.rate=700 N/m": "'spring.rate=700 N/m'",
		strings.Repeat("x", 300): "'" + strings.Repeat("x", 200) + "…'",
	} {
		assert.Equal(t, want, quoted(word))
	}
}
