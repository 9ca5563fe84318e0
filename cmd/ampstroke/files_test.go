package main

import (
	"bytes"
	"context"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/spf13/pflag"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// A flag that wants a text and gets none, as a script's empty variable gives it, is
// refused by every command, rather than taken for one that is not there.
func TestEmptyFlags(t *testing.T) {
	flags := 0
	for _, c := range rootCommand().Commands() {
		c.Flags().VisitAll(func(f *pflag.Flag) {
			if f.Value.Type() != "string" {
				return
			}
			flags++
			for _, empty := range []string{"", "  "} {
				args := []string{c.Name(), "--" + f.Name + "=" + empty}
				args = append(args, map[string][]string{
					"compare": {"../../examples/builds/braked.yaml", "../../examples/builds/twice.yaml"},
					"fit":     {"../../examples/builds/loaner.yaml", "../../examples/builds/readings/loaner.yaml"},
					"listen":  {"../../testdata/listen/plain.wav"},
					"search":  {"../../examples/shelf/drawer.shelf.yaml"},
				}[c.Name()]...)
				o := command(t, args...)
				assert.Equal(t, badInput, o.code, "%q", args)
				assert.Contains(t, o.stderr, "--"+f.Name+": is empty; wanted ")
				assert.Empty(t, o.stdout)
			}
		})
	}
	assert.GreaterOrEqual(t, flags, 5*2+7, "plot and trace of all, and more")
	for _, args := range [][]string{{"cycle", "--set="}, {"cycle", "--set", ""}} {
		assert.Equal(t, badInput, command(t, args...).code)
	}
}

// Every flag that names a file says which way, so that none is left out below.
func TestFlagsOfFilesAreKnown(t *testing.T) {
	files := 0
	for _, c := range rootCommand().Commands() {
		c.Flags().VisitAll(func(f *pflag.Flag) {
			if name, _ := pflag.UnquoteUsage(f); strings.HasPrefix(name, "FILE") {
				files++
				assert.NotEqual(t, f.Annotations[fileRead] == nil, f.Annotations[fileWritten] == nil, "--%s of %s", f.Name, c.Name())
			}
		})
	}
	assert.GreaterOrEqual(t, files, 5*2+6)
}

// folder makes a folder with a build file, a plan and a batch in it, and goes there.
func folder(t *testing.T) string {
	dir := t.TempDir()
	for name, text := range map[string]string{"rifle.yaml": demoText(), "day.yaml": "name: a day\nsteps: [{rounds: 3}]\n", "study.jsonl": "{}\n"} {
		require.NoError(t, os.WriteFile(filepath.Join(dir, name), []byte(text), 0o666))
	}
	require.NoError(t, os.Mkdir(filepath.Join(dir, "sub"), 0o777))
	t.Chdir(dir)
	return dir
}

// contents returns what is in the files of a folder.
func contents(t *testing.T, dir string) map[string]string {
	all := map[string]string{}
	entries, err := os.ReadDir(dir)
	require.NoError(t, err)
	for _, e := range entries {
		path := filepath.Join(dir, e.Name())
		if info, err := os.Stat(path); err != nil || !info.Mode().IsRegular() {
			all[e.Name()] = e.Type().String()
			continue
		}
		data, err := os.ReadFile(path)
		require.NoError(t, err)
		all[e.Name()] = string(data)
	}
	return all
}

// clash is a command line whose outputs meet each other, or an input.
type clash struct {
	name string
	args []string
	want string
}

// refuse holds that clashes are refused before anything is done.
func refuse(t *testing.T, dir string, all []clash) {
	before := contents(t, dir)
	for _, c := range all {
		t.Run(c.name, func(t *testing.T) {
			o := ends(t, func() outcome { return command(t, c.args...) })
			assert.Equal(t, badInput, o.code)
			assert.Equal(t, "ampstroke: "+c.want+"\n", o.stderr)
			assert.Empty(t, o.stdout)
			assert.Equal(t, before, contents(t, dir))
		})
	}
}

func TestOutputsThatMeet(t *testing.T) {
	dir := folder(t)
	require.NoError(t, os.WriteFile("there.png", []byte("old"), 0o666))
	refuse(t, dir, []clash{
		{"one name", []string{"cycle", "--plot", "a.png", "--flight", "a.png"}, "--plot: a.png: --flight writes to the same file"},
		{"one file", []string{"cycle", "--plot", "there.png", "--delays", "there.png"}, "--plot: there.png: --delays writes to the same file"},
		{"another spelling", []string{"cycle", "--pull", "./sub/../a.png", "--flight", "a.png"}, "--pull: ./sub/../a.png: --flight writes to the same file"},
		{"with the whole path", []string{"cycle", "--plot", filepath.Join(dir, "a.png"), "--pull", "a.png"}, "--pull: a.png: --plot writes to the same file"},
		{"in a folder", []string{"cycle", "--plot", "sub/a.png", "--pull", "sub//a.png"}, "--pull: sub//a.png: --plot writes to the same file"},
		{"the build", []string{"pickup", "rifle.yaml", "--after", "rifle.yaml"}, "--after: rifle.yaml: the build is read from the same file; wanted another one, since it would be lost"},
		{"the build, spelt otherwise", []string{"pickup", "sub/../rifle.yaml", "--after", filepath.Join(dir, "rifle.yaml")}, "--after: " + filepath.Join(dir, "rifle.yaml") + ": the build is read from the same file; wanted another one, since it would be lost"},
		{"before a build that is none", []string{"pickup", "nowhere.yaml", "--after", "nowhere.yaml"}, "--after: nowhere.yaml: the build is read from the same file; wanted another one, since it would be lost"},
	})
	assert.Zero(t, command(t, "cycle", "--plot", "a.png", "--flight", "sub/a.png", "--trace", "a.csv").code, "others are written")
}

// Standard output that goes to one of the files would be lost, or a file that is read
// without end.
func TestStandardOutputThatMeetsAFile(t *testing.T) {
	for _, c := range []struct {
		name, into string
		args       []string
		want       string
	}{
		{"an output", "a.csv", []string{"cycle", "--trace", "a.csv"}, "--trace: a.csv: standard output writes to the same file"},
		{"the build", "rifle.yaml", []string{"cycle", "rifle.yaml"}, "the build: rifle.yaml: is read, and standard output writes to the same file"},
		{"the plan", "day.yaml", []string{"heat", "--plan", "day.yaml"}, "--plan: day.yaml: is read, and standard output writes to the same file"},
		{"the batch", "study.jsonl", []string{"cycle", "--batch", "study.jsonl"}, "--batch: study.jsonl: is read, and standard output writes to the same file"},
		{"standard input", "study.jsonl", []string{"cycle", "--batch", "-"}, "standard input: a file: is read, and standard output writes to the same file"},
		{"the build on standard input", "rifle.yaml", []string{"motor", "-"}, "standard input: a file: is read, and standard output writes to the same file"},
	} {
		t.Run(c.name, func(t *testing.T) {
			dir := folder(t)
			out, err := os.OpenFile(c.into, os.O_WRONLY|os.O_APPEND|os.O_CREATE, 0o666)
			require.NoError(t, err)
			defer out.Close()
			in, err := os.Open(c.into)
			require.NoError(t, err)
			defer in.Close()
			before := contents(t, dir)
			var stderr bytes.Buffer
			assert.Equal(t, badInput, status(run(context.Background(), c.args, in, out, &stderr), &stderr))
			assert.Equal(t, "ampstroke: "+c.want+"\n", stderr.String())
			assert.Equal(t, before, contents(t, dir))
		})
	}
	folder(t)
	out, err := os.Create("bash")
	require.NoError(t, err)
	defer out.Close()
	var stderr bytes.Buffer
	assert.Zero(t, status(run(context.Background(), []string{"completion", "bash"}, strings.NewReader(""), out, &stderr), &stderr), "the name of a shell is no file")
}
