package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"path/filepath"
	"runtime/debug"
	"strings"
	"syscall"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"example.org/ampstroke/drivetrain/quantity"
)

// The exit statuses, beside 0.
const (
	missed      = 1 // the target is missed or the build has a fault, with --strict
	badInput    = 2 // bad input or usage
	incomplete  = 3 // the simulation or its output could not be completed
	interrupted = 130
)

// failure is an error with the exit status it asks for.
type failure struct {
	code int
	err  error
}

func (f *failure) Error() string { return f.err.Error() }
func (f *failure) Unwrap() error { return f.err }

// bad marks an error as bad input; nil stays nil.
func bad(err error) error {
	if err == nil {
		return nil
	}
	return &failure{badInput, err}
}

// errMissed says that --strict was not met; the verdict has been printed.
var errMissed = errors.New("the target is missed or the build has a fault (--strict)")

// errHeld says the same of a motor, which has neither.
var errHeld = errors.New("the current of the held motor would weaken the magnets (--strict)")

// errLeft says that whoever read standard output has left, as head does, who wants to
// hear no more.
var errLeft = errors.New("nobody reads the output")

// status prints an error and returns the exit status.
func status(err error, stderr io.Writer) int {
	if err == nil {
		return 0
	}
	var f *failure
	switch {
	case errors.Is(err, context.Canceled):
		fmt.Fprintln(stderr, "ampstroke: interrupted")
		return interrupted
	case errors.Is(err, errLeft):
		return incomplete
	case errors.As(err, &f):
		fmt.Fprintln(stderr, "ampstroke:", f.err)
		return f.code
	}
	fmt.Fprintln(stderr, "ampstroke:", err)
	return incomplete
}

// run is the whole command; what it returns goes to status.
func run(ctx context.Context, args []string, stdin io.Reader, stdout, stderr io.Writer) (err error) {
	defer func() {
		if fault := recover(); fault != nil {
			err = fmt.Errorf("a fault in ampstroke itself, please report it with the build file: %v", fault)
		}
	}()
	late, end := lately(ctx, grace)
	defer end()
	out := &writer{ctx: late, w: stdout}
	root := rootCommand()
	root.SetArgs(args)
	root.SetIn(&reader{ctx: ctx, r: stdin})
	root.SetOut(out)
	root.SetErr(stderr)
	err = root.ExecuteContext(ctx)
	switch {
	case errors.Is(err, context.Canceled):
	case errors.Is(out.err, syscall.EPIPE):
		return errLeft
	case out.err != nil: // whatever else there is to say of a result that is lost
		return fmt.Errorf("can't write the output: %w", out.err)
	}
	return err
}

func rootCommand() *cobra.Command {
	root := &cobra.Command{
		Use:   "ampstroke",
		Short: "what a rebuilt electric spring-piston replica will do, before a part is bought",
		Long: `ampstroke computes what a build (motor, battery, leads, switch, gears, spring,
piston) will do: rate of fire, current through the cycle, inrush, pack voltage
under load, and where the energy goes. Builds are written down in YAML files;
without one, the embedded demo build is used.`,
		Example: `  ampstroke cycle
  ampstroke start rifle.yaml
  ampstroke keys spring
  ampstroke cycle rifle.yaml --plot cycle.png
  ampstroke cycle - < rifle.yaml
  ampstroke motor rifle.yaml --plot motor.png
  ampstroke compare rifle.yaml rewound.yaml
  ampstroke heat rifle.yaml --plan day.yaml --plot heat.png
  ampstroke pickup rifle.yaml --plot pickup.png
  ampstroke spread rifle.yaml --plot spread.png
  ampstroke search drawer.yaml
  ampstroke listen shots.wav
  ampstroke levers rifle.yaml --want "rate_of_fire=24 /s"
  ampstroke fit rifle.yaml evening.yaml --after corrected.yaml`,
		Version:           version(),
		SilenceErrors:     true,
		SilenceUsage:      true,
		Args:              noCommand,
		RunE:              func(c *cobra.Command, _ []string) error { return c.Help() },
		CompletionOptions: cobra.CompletionOptions{HiddenDefaultCmd: false},
	}
	root.SetFlagErrorFunc(func(c *cobra.Command, err error) error {
		return bad(fmt.Errorf("%w%s; see '%s --help'", err, nearFlag(c, err), c.CommandPath()))
	})
	root.AddCommand(
		cycleCommand(), motorCommand(), compareCommand(), heatCommand(), pickupCommand(),
		spreadCommand(),
		searchCommand(),
		leversCommand(),
		fitCommand(),
		listenCommand(),
		sheetCommand(),
		startCommand(), keysCommand(), schemaCommand(),
	)
	usageErrors(root)
	root.SetUsageTemplate(strings.ReplaceAll(root.UsageTemplate(), ".FlagUsages", fmt.Sprintf(".FlagUsagesWrapped %d", screen)))
	return root
}

// noCommand refuses what stands where a command is wanted.
func noCommand(root *cobra.Command, args []string) error {
	if len(args) == 0 {
		return nil
	}
	names := []string{"help", "completion"} // which cobra adds
	for _, c := range root.Commands() {
		names = append(names, c.Name())
	}
	hint := ""
	if near := quantity.Nearest(args[0], names); near != "" {
		hint = fmt.Sprintf("; did you mean %s?", near)
	} else if ending := filepath.Ext(args[0]); ending == ".yaml" || ending == ".yml" {
		hint = fmt.Sprintf("; wanted a command before a build file, such as '%s cycle %s'", root.Name(), args[0])
	}
	return fmt.Errorf("unknown command %q%s", args[0], hint)
}

// nearFlag says which flag an unknown one most likely means.
func nearFlag(c *cobra.Command, err error) string {
	var unknown *pflag.NotExistError
	if !errors.As(err, &unknown) {
		return ""
	}
	names := []string{"help"}
	c.Flags().VisitAll(func(f *pflag.Flag) { names = append(names, f.Name) })
	if near := quantity.Nearest(unknown.GetSpecifiedName(), names); near != "" {
		return fmt.Sprintf("; did you mean --%s?", near)
	}
	for _, sub := range c.Commands() {
		if sub.Flags().Lookup(unknown.GetSpecifiedName()) != nil {
			return "; it stands behind the command"
		}
	}
	return ""
}

// usageErrors makes wrong arguments of every command bad input.
func usageErrors(c *cobra.Command) {
	if check := c.Args; check != nil {
		c.Args = func(c *cobra.Command, args []string) error {
			if err := check(c, args); err != nil {
				return bad(fmt.Errorf("%w; see '%s --help'", err, c.CommandPath()))
			}
			return nil
		}
	}
	for _, sub := range c.Commands() {
		usageErrors(sub)
	}
}

// version is that of the module as the Go tool built it.
func version() string {
	info, ok := debug.ReadBuildInfo()
	if !ok || info.Main.Version == "" {
		return "(devel)"
	}
	return info.Main.Version
}
