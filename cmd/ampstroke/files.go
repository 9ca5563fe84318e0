package main

import (
	"cmp"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strings"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"
)

// The annotations of flags that name files.
const (
	fileRead    = "file-read"
	fileWritten = "file-written"
)

// argumentsAre is the annotation of a command whose arguments are files, but no builds:
// what each is called.
const argumentsAre = "arguments"

// reads and writes say that flags name files that are read, or written.
func reads(c *cobra.Command, flags ...string)  { annotate(c, fileRead, flags) }
func writes(c *cobra.Command, flags ...string) { annotate(c, fileWritten, flags) }

func annotate(c *cobra.Command, what string, flags []string) {
	for _, name := range flags {
		if err := c.Flags().SetAnnotation(name, what, []string{"true"}); err != nil {
			panic(err) // there is no such flag; any test of the command sees it
		}
	}
}

// place is a file, as a flag, an argument or the shell names it.
type place struct {
	who  string      // the flag, or what stands in its place
	path string      // as given
	real string      // without links, absolute; empty of what has no name
	info fs.FileInfo // nil: there is none yet
}

// checkFiles refuses flags that are given but empty, outputs that go to one file, and
// outputs that are also read, under whichever names, before any work is done.
func checkFiles(c *cobra.Command, args []string) error {
	var in, out []place
	var err error
	c.Flags().Visit(func(f *pflag.Flag) {
		value := f.Value.String()
		if f.Value.Type() == "string" && strings.TrimSpace(value) == "" && err == nil {
			name, _ := pflag.UnquoteUsage(f)
			if name == "string" {
				name = "a value"
			}
			err = bad(fmt.Errorf("--%s: is empty; wanted %s", f.Name, name))
		}
		switch {
		case f.Annotations[fileWritten] != nil:
			out = append(out, named("--"+f.Name, value))
		case f.Annotations[fileRead] != nil && value == fromStdin:
			in = append(in, stream("standard input", c.InOrStdin()))
		case f.Annotations[fileRead] != nil:
			in = append(in, named("--"+f.Name, value))
		}
	})
	if err != nil {
		return err
	}
	for i, path := range args {
		if path == fromStdin {
			in = append(in, stream("standard input", c.InOrStdin()))
		} else if i == 1 && c.Name() == "fit" {
			in = append(in, named("the file of readings", path))
		} else {
			in = append(in, named(cmp.Or(c.Annotations[argumentsAre], "the build"), path))
		}
	}
	out = append(out, stream("standard output", c.OutOrStdout()))
	for i := range out {
		a := &out[i]
		for k := range out[:i] {
			if b := &out[k]; a.same(b) {
				first, second := b, a
				if a.real != "" { // a flag is told rather than a stream
					first, second = a, b
				}
				return bad(fmt.Errorf("%s: %s: %s writes to the same file", first.who, first.path, second.who))
			}
		}
		for k := range in {
			if b := &in[k]; a.same(b) {
				if a.real == "" {
					return bad(fmt.Errorf("%s: %s: is read, and standard output writes to the same file", b.who, b.path))
				}
				return bad(fmt.Errorf("%s: %s: %s is read from the same file; wanted another one, since it would be lost", a.who, a.path, b.who))
			}
		}
	}
	return nil
}

// named returns the file of a name.
func named(who, path string) place {
	p := place{who: who, path: path, real: resolved(path)}
	p.info, _ = os.Stat(path)
	return p
}

// stream returns the file behind a stream of the program.
func stream(who string, s any) place {
	p := place{who: who, path: "a file"}
	switch w := s.(type) {
	case *writer:
		s = w.w
	case *reader:
		s = w.r
	}
	if f, ok := s.(*os.File); ok {
		p.info, _ = f.Stat()
	}
	return p
}

// same tells whether two places are one file. A device is nobody's alone.
func (p *place) same(q *place) bool {
	if p.info != nil && q.info != nil {
		return p.info.Mode()&fs.ModeDevice == 0 && os.SameFile(p.info, q.info)
	}
	return p.info == nil && q.info == nil && p.real != "" && p.real == q.real
}

// resolved follows the links of a path, also where they lead to a file that is not
// there yet.
func resolved(path string) string {
	const mostLinks = 40
	for range mostLinks {
		dir, name := filepath.Split(path)
		if dir == "" {
			dir = "."
		}
		if real, err := filepath.EvalSymlinks(dir); err == nil {
			dir = real
		}
		path = filepath.Join(dir, name)
		target, err := os.Readlink(path)
		if err != nil {
			break
		}
		if filepath.IsAbs(target) {
			path = target
		} else { // uncleaned: ".." behind a link is not what it seems
			path = dir + string(filepath.Separator) + target
		}
	}
	if full, err := filepath.Abs(path); err == nil {
		path = full
	}
	return path
}
