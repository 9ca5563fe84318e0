package main

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	"path/filepath"

	"github.com/spf13/cobra"

	"example.org/ampstroke/drivetrain/buildfile"
	"example.org/ampstroke/drivetrain/wholefile"
)

func startCommand() *cobra.Command {
	var settings buildfile.Settings
	c := &cobra.Command{
		Use:   "start FILE.yaml",
		Short: "a build file to start from, with every key explained",
		Long: `start writes a build file that is complete and can be fired as it is: every key
with its unit, what it may be, and how it is measured or estimated on the bench.
The values are those of the demo, which are invented: replace each by your own.
Keys that stand in place of others are there too, switched off by a #. A file
that is there already is never touched.`,
		Example: `  ampstroke start rifle.yaml
  ampstroke start rifle.yaml --bench
  ampstroke start rifle.yaml --short`,
		Args: func(_ *cobra.Command, args []string) error {
			switch {
			case len(args) == 0:
				return errors.New("no file is given; wanted the name of a new one, such as rifle.yaml")
			case len(args) > 1:
				return errors.New("more than one file is given; wanted one")
			}
			if ending := filepath.Ext(args[0]); ending != ".yaml" && ending != ".yml" {
				return fmt.Errorf("%s: wanted a file name that ends in .yaml", args[0])
			}
			return nil
		},
		ValidArgsFunction: yamlFiles,
		RunE: func(c *cobra.Command, args []string) error {
			err := wholefile.WriteNew(c.Context(), args[0], func(w io.Writer) error {
				_, err := w.Write(buildfile.Start(settings))
				return err
			})
			switch {
			case err == nil:
				fmt.Fprintf(c.ErrOrStderr(), "wrote %s\n", args[0])
				return nil
			case errors.Is(err, fs.ErrExist):
				return bad(fmt.Errorf("%s is there already; wanted the name of a new file", args[0]))
			case errors.Is(err, wholefile.ErrIncomplete), c.Context().Err() != nil:
				return err
			}
			return bad(err)
		},
	}
	c.Flags().BoolVar(&settings.Bench, "bench", false, "give the motor by bench readings, in place of stator and armature")
	c.Flags().BoolVar(&settings.Short, "short", false, "write only the keys that are required")
	return c
}
