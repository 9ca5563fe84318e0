package main

import (
	"errors"
	"fmt"
	"io"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"example.org/ampstroke/drivetrain/buildfile"
	"example.org/ampstroke/drivetrain/figure"
	"example.org/ampstroke/drivetrain/study"
)

func keysCommand() *cobra.Command {
	var asJSON bool
	c := &cobra.Command{
		Use:   "keys [WORD...]",
		Short: "keys of the build file: meaning, range, default, measuring",
		Long: `keys lists the keys of the build file whose path or meaning holds each of the
words: what the key is, its unit or words, its range, what stands in where it is
left out, and how it is measured or estimated on the bench. Below stand the
figures, each of which target.NAME.min and target.NAME.max may ask for. Without
words, all are listed. A 0 in a path stands for any member of a list.`,
		Example: `  ampstroke keys spring
  ampstroke keys harness resistance
  ampstroke keys --json`,
		ValidArgsFunction: func(*cobra.Command, []string, string) ([]string, cobra.ShellCompDirective) {
			var paths []string
			for _, k := range buildfile.Keys() {
				paths = append(paths, k.Path)
			}
			return paths, cobra.ShellCompDirectiveNoFileComp
		},
		RunE: func(c *cobra.Command, args []string) error {
			if slices.ContainsFunc(args, func(w string) bool { return strings.TrimSpace(w) == "" }) {
				return bad(errors.New("a word is empty; wanted one to look for, such as spring"))
			}
			keys, figures := buildfile.SearchKeys(args...), figuresAmong(args)
			if len(keys) == 0 && len(figures) == 0 {
				return bad(noKeys(args))
			}
			if asJSON {
				return printJSON(c.OutOrStdout(), keysJSON(keys, figures))
			}
			printKeys(c.OutOrStdout(), keys, figures)
			return nil
		},
	}
	c.Flags().BoolVar(&asJSON, "json", false, "print one JSON document, in SI units, and nothing else")
	return c
}

// noKeys says that no key holds all words.
func noKeys(words []string) error {
	for _, w := range words {
		if len(buildfile.SearchKeys(w)) > 0 {
			continue
		}
		hint := "'ampstroke keys' lists all"
		if near := buildfile.NearKeys(w); near != "" {
			hint = near
		}
		return fmt.Errorf("no key's path or meaning holds %q; %s", w, hint)
	}
	return fmt.Errorf("no key holds all of %q, though some hold each; wanted fewer words", words)
}

// figuresAmong lists the figures whose name, label or meaning holds each of the words, or
// whose keys of the target do.
func figuresAmong(words []string) (all []figure.Info) {
	for _, f := range study.Figures() {
		text := strings.ToLower(strings.Join([]string{"target." + f.Name + ".min target." + f.Name + ".max", f.Label, f.Meaning}, " "))
		if !slices.ContainsFunc(words, func(w string) bool { return !strings.Contains(text, strings.ToLower(w)) }) {
			all = append(all, f)
		}
	}
	return all
}

func printKeys(w io.Writer, keys []buildfile.Key, figures []figure.Info) {
	const indent = "    "
	first := true
	for _, k := range keys {
		if strings.HasPrefix(k.Path, "target.") { // said with the figures
			continue
		}
		if !first {
			fmt.Fprintln(w)
		}
		first = false
		fmt.Fprintln(w, k.Path)
		fmt.Fprintln(w, wrap("  ", k.Meaning, screen, indent))
		left := ""
		switch {
		case k.Required:
			left = "; required"
		case k.Default != "":
			left = fmt.Sprintf("; left out: %s, %s", k.Default, k.Why)
		case k.Why != "":
			left = "; left out, it follows: " + k.Why
		}
		fmt.Fprintln(w, wrap("  ", k.Allowed()+left, screen, indent))
		fmt.Fprintln(w, wrap("  measured: ", k.HowMeasured, screen, indent))
	}
	var rows [][]string
	for _, f := range figures {
		meaning := strings.TrimSpace(f.Label) + ": " + f.Meaning
		if _, asked := buildfile.FindFigure(f.Name); !asked {
			meaning += " (of a firing plan)"
		}
		if f.Measured != "" {
			meaning += "; measured: " + f.Measured
		}
		rows = append(rows, []string{f.Name, or(f.Unit, "number"), meaning})
	}
	if len(rows) > 0 {
		printNoted(w, "figures", []string{"figure", "unit", ""}, rows)
	}
}

func keysJSON(keys []buildfile.Key, figures []figure.Info) object {
	list, asked := []object{}, []object{}
	for _, k := range keys {
		var unit, words, stands any
		if k.Quantity {
			unit = k.Kind.SIUnit()
		}
		if k.Words != nil {
			words = k.Words
		}
		if k.Default != "" {
			stands = k.Default
		}
		list = append(list, object{
			{"key", k.Path}, {"meaning", k.Meaning}, {"unit", unit}, {"words", words}, {"required", k.Required}, {"default", stands},
			{"min", number(k.Range[0])}, {"max", number(k.Range[1])}, {"whole", k.Whole}, {"measured", k.HowMeasured},
		})
	}
	for _, f := range figures {
		_, target := buildfile.FindFigure(f.Name)
		better := map[figure.Better]any{figure.Higher: "higher", figure.Lower: "lower"}[f.Better]
		asked = append(asked, object{
			{"figure", f.Name}, {"key", f.Key()}, {"label", strings.TrimSpace(f.Label)}, {"meaning", f.Meaning}, {"unit", f.Kind.SIUnit()}, {"better", better}, {"target", target},
		})
	}
	return object{{"format", 1}, {"keys", list}, {"figures", asked}}
}

// completeSet completes an override: the key, then its words.
func completeSet(_ *cobra.Command, _ []string, text string) ([]string, cobra.ShellCompDirective) {
	path, value, given := strings.Cut(text, "=")
	var all []string
	if !given {
		for _, k := range buildfile.Keys() {
			if strings.HasPrefix(k.Path, path) {
				all = append(all, k.Path+"=\t"+k.Meaning)
			}
		}
		return all, cobra.ShellCompDirectiveNoSpace | cobra.ShellCompDirectiveNoFileComp
	}
	if k, ok := buildfile.FindKey(path); ok {
		for _, word := range k.Words {
			if strings.HasPrefix(word, value) {
				all = append(all, path+"="+word)
			}
		}
	}
	return all, cobra.ShellCompDirectiveNoFileComp
}
