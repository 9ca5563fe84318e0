package main

import (
	"fmt"
	"io"
	"math"
	"path/filepath"
	"strings"

	"github.com/spf13/cobra"

	"example.org/ampstroke/drivetrain"
	"example.org/ampstroke/drivetrain/chart"
	"example.org/ampstroke/drivetrain/cycle"
	"example.org/ampstroke/drivetrain/figure"
	"example.org/ampstroke/drivetrain/pickup"
	"example.org/ampstroke/drivetrain/quantity"
	"example.org/ampstroke/drivetrain/study"
)

func pickupCommand() *cobra.Command {
	var s shared
	var after string
	c := &cobra.Command{
		Use:   "pickup [BUILD]",
		Short: "how the sector meets the rack: contact, spacer, teeth, strength",
		Long: `pickup looks at how the sector's first tooth meets the pickup tooth: the contact
angle and depth, which spacer makes it square and from which pads, which rack
teeth then stand in the way and how far they come down, how the pull is handed
from tooth to tooth, and what rack and spring bear, before and after the work.
BUILD is a build file with a rack; left out, the embedded demo is used. All
figures are those of automatic fire.`,
		Example: `  ampstroke pickup --plot pickup.png
  ampstroke pickup rifle.yaml --set "rack.pickup_offset=1.8 mm"
  ampstroke pickup rifle.yaml --after spaced.yaml
  ampstroke compare rifle.yaml spaced.yaml
  ampstroke pickup rifle.yaml --trace pull.csv --strict`,
		Args:              oneBuild,
		ValidArgsFunction: yamlFiles,
		RunE: func(c *cobra.Command, args []string) error {
			if err := s.check(); err != nil {
				return err
			}
			if err := checkAfter(after); err != nil {
				return err
			}
			d, err := s.document(args)
			if err != nil {
				return err
			}
			plan, err := pickup.Examine(d.Build)
			if err != nil {
				return placed(d, err)
			}
			x, err := study.Examine(c.Context(), d.Build, d.Target, cycle.Settings{})
			if err != nil {
				return err
			}
			r := &pickup.Result{Work: plan, Before: *x.Pickup}
			if r.After, err = plan.Then.Fire(c.Context(), pickup.Settings{}); err != nil {
				return err
			}
			var changed []byte
			if after != "" {
				now, err := study.AfterWork(d, plan)
				if err != nil {
					return err
				}
				if changed, err = now.Bytes(); err != nil {
					return err
				}
			}
			return s.deliver(c, &report{
				picture: func() (*chart.Picture, error) { return chart.Pickup(r) },
				also:    []also{{path: after, text: changed}},
				trace:   plan.WriteCSV,
				json:    func() object { return pickupJSON(r, x) },
				print:   func(w io.Writer) { printPickup(w, r, x) },
				failed:  missing(fails(x.Verdicts, x.Findings)),
			})
		},
	}
	s.add(c)
	c.Flags().StringVar(&after, "after", "", "write the build as it is after the work to `FILE.yaml`, to compare it with the one before")
	writes(c, "after")
	_ = c.RegisterFlagCompletionFunc("after", func(*cobra.Command, []string, string) ([]string, cobra.ShellCompDirective) {
		return []string{"yaml", "yml"}, cobra.ShellCompDirectiveFilterFileExt
	})
	return c
}

// checkAfter looks at the name of the file that --after writes.
func checkAfter(path string) error {
	if path == "" {
		return nil
	}
	if ending := filepath.Ext(path); ending != ".yaml" && ending != ".yml" {
		return bad(fmt.Errorf("--after: %s: wanted a file name that ends in .yaml", path))
	}
	return nil
}

// ofState are the figures of a state, and of its cycle those that a spacer moves.
func ofState() figure.List[*pickup.State] {
	const spacer = "what the spacer does"
	var all figure.List[*pickup.State]
	cycles := figure.From(cycle.Figures(), func(s *pickup.State) *cycle.Result { return s.Cycle })
	for _, f := range pickup.Figures() {
		if f.Group != spacer && all.Has(spacer) {
			for _, name := range []string{"rate_of_fire", "muzzle_velocity", "pme_margin"} {
				if moved, _ := cycles.Find(name); !all.Holds(name) {
					moved.Group = spacer
					all = append(all, moved)
				}
			}
		}
		all = append(all, f)
	}
	return all
}

// shownOf shows a figure of a state; angles as the picture and the work have them.
func shownOf(f *figure.Of[*pickup.State], s *pickup.State) string {
	if v := f.Value(s); f.Kind == quantity.Angle && !math.IsNaN(v) {
		return pickup.Degrees(v, " °")
	}
	return f.Shown(s)
}

func printPickup(w io.Writer, r *pickup.Result, x *study.Examination) {
	say(w, fmt.Sprintf("%s: the sector meets the pickup tooth %s", r.Work.Now.Build.Name, r.Before.Contact.Where()), "  ")
	printFindings(w, "", x.Findings, targetLine(x.Build, x.Verdicts))
	for _, f := range r.After.Warnings() {
		fmt.Fprintln(w, wrap("after the work: ", f.Text+" ["+f.Code+"]", screen, "  "))
	}
	heads := []string{"", "as it stands", "after", ""}
	figures := ofState()
	for i, heading := range figures.Groups() {
		var lines [][]string
		if i == 0 {
			lines = append(lines,
				[]string{"first contact", r.Before.Contact.Kind.Say(), r.After.Contact.Kind.Say(), ""},
				[]string{"meets first", metFirst(&r.Before), metFirst(&r.After), "rack teeth count from the pickup tooth, 1"},
				[]string{"in the way", inTheWay(&r.Before), inTheWay(&r.After), "rack teeth, of the sector's first tooth"})
		}
		for _, f := range figures.In(heading) {
			before, after := shownOf(&f, &r.Before), shownOf(&f, &r.After)
			if f.Quiet || before == "" && after == "" {
				continue
			}
			note := f.Meaning
			if f.Note != nil && f.Group != "what the spacer does" && f.Note(&r.Before) == "" {
				note = ""
			}
			lines = append(lines, []string{f.Label, dash(before), dash(after), note})
		}
		if i == 1 {
			lines = append(lines, []string{"drive", drive(&r.Before), drive(&r.After), ""})
		}
		printNoted(w, heading, heads, lines)
	}
	fmt.Fprintln(w, "\nwork, in the order of the hands")
	for i, step := range r.Steps() {
		fmt.Fprintln(w, wrap(fmt.Sprintf("  %d. ", i+1), step, screen, "     "))
	}
}

func dash(text string) string {
	if text = strings.TrimSpace(text); text == "" {
		return "-"
	}
	return text
}

// metFirst is the rack tooth that the sector's first one really meets, and where if that
// isn't the pickup tooth.
func metFirst(s *pickup.State) string {
	if s.FirstTooth == 1 {
		return "tooth 1"
	}
	return fmt.Sprintf("tooth %d, %s", s.FirstTooth, pickup.Degrees(s.Contacts[s.FirstTooth-1].Angle, " °"))
}

func inTheWay(s *pickup.State) string {
	if len(s.Blocking) == 0 {
		return "none"
	}
	return listed(s.Blocking)
}

func listed(teeth []int) string {
	var words []string
	for _, t := range teeth {
		words = append(words, fmt.Sprint(t))
	}
	return strings.Join(words, ", ")
}

func drive(s *pickup.State) string {
	switch {
	case s.Contact.Kind == pickup.Land || len(s.Blocking) > 0:
		return "jams"
	case s.HandOver.Lost:
		return fmt.Sprintf("LOST at tooth %d", s.HandOver.Last)
	case s.HandOver.Caught():
		return "rack is caught"
	case len(s.HandOver.Strikes) > 0:
		return fmt.Sprintf("tips strike at %d", s.HandOver.Strikes[0].Tooth)
	}
	return "held to the end"
}

func pickupJSON(r *pickup.Result, x *study.Examination) object {
	stack := []number{}
	for _, p := range r.Pads {
		stack = append(stack, number(p))
	}
	o := object{
		{"format", 1}, {"build", r.Work.Now.Build.Name},
		{"spacer_m", number(r.Spacer)}, {"stack_m", stack}, {"teeth_to_take_down", takenDownJSON(r.TakeDown)},
	}
	o = append(o, stateJSON(&r.Before)...)
	return append(o, member{"after", stateJSON(&r.After)}, member{"findings", findingsJSON(x.Findings)}, member{"advice", r.Steps()}, member{"cautions", cautions()})
}

func takenDownJSON(all []drivetrain.TakenDown) []object {
	list := []object{}
	for _, t := range all {
		list = append(list, object{{"tooth", t.Tooth}, {"depth_m", number(t.Depth)}})
	}
	return list
}

func stateJSON(s *pickup.State) object {
	f := func(v float64) number { return number(v) }
	blocked := append([]int{}, s.Blocking...)
	strikes := []object{}
	for _, t := range s.HandOver.Strikes {
		strikes = append(strikes, object{{"tooth", t.Tooth}, {"sector_angle_rad", f(t.Angle)}, {"short_m", f(t.Short)}})
	}
	g := s.Build.Geometry()
	c := &s.Contact
	o := object{
		{"contact", string(c.Kind)}, {"first_tooth", s.FirstTooth}, {"blocked_by", blocked}, {"contact_point_m", []number{f(c.X), f(c.Y)}},
	}
	o = append(o, figuresJSON(ofState(), s)...)
	return append(o, object{
		{"drive_lost", s.HandOver.Lost}, {"tips_strike", strikes}, {"stroke_m", f(g.Stroke)},
		{"warnings", warningsJSON(s.Warnings())},
	}...)
}
