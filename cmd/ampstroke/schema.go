package main

import (
	"fmt"

	"github.com/spf13/cobra"

	"example.org/ampstroke/drivetrain/buildfile"
	"example.org/ampstroke/drivetrain/quantity"
)

func schemaCommand() *cobra.Command {
	kinds := []string{"build", "plan"}
	return &cobra.Command{
		Use:   "schema build|plan",
		Short: "the JSON Schema of build files or plans, for editors",
		Long: `schema prints a JSON Schema (draft 2020-12) of build files or of firing plans.
An editor that is told of it completes keys and words, shows what each key means
and how it is measured, and marks what is unknown, missing or has a wrong unit.
What needs two keys, and whether values are in range, only the commands tell.`,
		Example: `  ampstroke schema build > build.schema.json
  ampstroke schema plan > plan.schema.json`,
		Args: func(_ *cobra.Command, args []string) error {
			if len(args) == 1 && (args[0] == kinds[0] || args[0] == kinds[1]) {
				return nil
			}
			found, hint := "nothing is given", ""
			if len(args) > 1 {
				found = "more than one word is given"
			} else if len(args) == 1 {
				found = fmt.Sprintf("found %q", args[0])
				if near := quantity.Nearest(args[0], kinds); near != "" {
					hint = fmt.Sprintf(" (did you mean %s?)", near)
				}
			}
			return fmt.Errorf("%s%s; wanted build or plan", found, hint)
		},
		ValidArgs: kinds,
		RunE: func(c *cobra.Command, args []string) error {
			text := buildfile.BuildSchema()
			if args[0] == "plan" {
				text = buildfile.PlanSchema()
			}
			_, err := c.OutOrStdout().Write(text)
			return err
		},
	}
}
