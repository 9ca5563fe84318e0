package main

import (
	"fmt"
	"io"
	"math"
	"path/filepath"
	"slices"
	"strconv"
	"strings"

	"github.com/spf13/cobra"

	"example.org/ampstroke/drivetrain"
	"example.org/ampstroke/drivetrain/buildfile"
	"example.org/ampstroke/drivetrain/chart"
	"example.org/ampstroke/drivetrain/cycle"
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
			if err := c.Context().Err(); err != nil {
				return err
			}
			var changed []byte
			if after != "" {
				if changed, err = afterwards(d, plan); err != nil {
					return err
				}
			}
			if s.plot != "" {
				if err := s.picture(c, func() *chart.Picture { return chart.Pickup(r) }); err != nil {
					return err
				}
			}
			if s.trace != "" {
				if err := write(c, s.trace, plan.WriteCSV); err != nil {
					return err
				}
			}
			if after != "" {
				if err := write(c, after, func(w io.Writer) error { _, err := w.Write(changed); return err }); err != nil {
					return err
				}
			}
			if s.json {
				if err := printJSON(c.OutOrStdout(), pickupJSON(r, x)); err != nil {
					return err
				}
			} else {
				printPickup(c.OutOrStdout(), r, x)
				printCautions(c.OutOrStdout())
			}
			if s.strict && fails(x.Verdicts, x.Findings) {
				return &failure{missed, errMissed}
			}
			return nil
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

// afterwards returns the text of the build file with the work done: pads put in and
// out of stock, teeth taken down as far as a file is told to, all else as it was. What carried a tolerance still
// does; that of the spacer grows by those of the pads.
func afterwards(d *buildfile.Document, p *pickup.Work) ([]byte, error) {
	now, err := d.With()
	if err != nil {
		return nil, err
	}
	length := func(v, tolerance float64) string {
		v = math.Round(v*1e9) / 1e9 // the dust of sums
		if tolerance == 0 {
			return quantity.Length.Print(v)
		}
		return quantity.Length.Print(v) + " ± " + strconv.FormatFloat(1e3*tolerance, 'g', 2, 64) + " mm" // two digits say enough of it
	}
	set := func(key, value string) {
		if err == nil {
			err = now.Set(key, value)
		}
	}
	b, done := p.Then.Build, ""
	if len(p.Pads) > 0 {
		in, thick := p.Taken(), b.Piston.Spacer
		if len(d.Build.Pads) == 0 {
			thick = pickup.Cut(thick)
		}
		spacer := d.Tolerances["piston.spacer"]
		var left, put []string
		for i, pad := range d.Build.Pads {
			tolerance := d.Tolerances[fmt.Sprintf("pads.%d", i)]
			if slices.Contains(in, i) {
				spacer = math.Hypot(spacer, tolerance)
				put = append(put, length(pad, 0))
			} else {
				left = append(left, length(pad, tolerance))
			}
		}
		set("piston.spacer", length(thick, spacer))
		if len(d.Build.Pads) > 0 {
			set("pads", "["+strings.Join(left, ", ")+"]")
			done = fmt.Sprintf("pads of %s put in, so that the spacer is %s in all; ", strings.Join(put, " and "), length(thick, 0))
		} else {
			done = fmt.Sprintf("a spacer of %s put in; ", length(p.CutSpacer(), 0))
			if d.Build.Piston.Spacer > 0 {
				done = fmt.Sprintf("a spacer of %s put in, so that it is %s in all; ", length(p.CutSpacer(), 0), length(thick, 0))
			}
		}
	}
	if len(p.TakeDown) > 0 {
		depths := map[int]float64{}
		for i, t := range d.Build.Rack.TakenDown {
			depths[t.Tooth] = d.Tolerances[fmt.Sprintf("rack.taken_down.%d.depth", i)]
		}
		var teeth []string
		for _, t := range b.Rack.TakenDown {
			depth := t.Depth
			if slices.Contains(p.TakeDown, t) {
				depth = pickup.Filed(b, t.Depth)
			}
			teeth = append(teeth, fmt.Sprintf("{tooth: %d, depth: %s}", t.Tooth, length(depth, depths[t.Tooth])))
		}
		set("rack.taken_down", "["+strings.Join(teeth, ", ")+"]")
		for _, t := range p.TakeDown {
			done += fmt.Sprintf("rack tooth %d taken down by %s from its original tip; ", t.Tooth, length(pickup.Filed(b, t.Depth), 0))
		}
	}
	if err != nil {
		return nil, fmt.Errorf("the build after the work can't be written down: %w", err)
	}
	if done != "" {
		now.Note("After the work at the pickup: " + strings.TrimSuffix(done, "; ") + ".")
	}
	return now.Bytes()
}

// pickupFigure is a figure of a state as tables show it.
type pickupFigure struct {
	name   string
	value  func(*pickup.State) float64
	scale  float64 // of the unit shown, in one SI unit
	digits int
	unit   string
	note   string
}

// text shows the figure of a state; angles as the picture and the work have them.
func (f *pickupFigure) text(s *pickup.State) string {
	v := f.scale * f.value(s)
	if f.unit == "°" && !math.IsNaN(v) {
		return pickup.Degrees(v*math.Pi/180, " °")
	}
	return sig(v, f.digits, f.unit)
}

type pickupGroup struct {
	heading string
	rows    []pickupFigure
}

func pickupFigures() []pickupGroup {
	const mm, degrees, mpa = 1e3, 180 / math.Pi, 1e-6
	return []pickupGroup{
		{"contact", []pickupFigure{
			{"contact angle", func(s *pickup.State) float64 { return s.Contact.Angle }, degrees, 3, "°", "ahead of the line of centres; square at 0"},
			{"sector angle", func(s *pickup.State) float64 { return s.Contact.SectorAngle }, degrees, 3, "°", "then, 0 with tooth 1's flank on that line"},
			{"pickup tooth ahead", func(s *pickup.State) float64 { return s.Offset }, mm, 3, "mm", "of flush, on the pitch line"},
			{"depth of contact", func(s *pickup.State) float64 { return s.Depth }, 100, 3, "%", "100 flush, 0 at the rack tooth's corner"},
			{"room for spacers", func(s *pickup.State) float64 { return s.SpacerLimit }, mm, 3, "mm", "until the sector's corner meets it"},
		}},
		{"pull", []pickupFigure{
			{"stroke", func(s *pickup.State) float64 { return s.Stroke }, mm, 4, "mm", "until the last corner lets go"},
			{"sector turns", func(s *pickup.State) float64 { return s.EngagedAngle }, degrees, 4, "°", "from first contact to release"},
			{"slip", func(s *pickup.State) float64 { return s.HandOver.Slip }, mm, 3, "mm", "the rack falls where a tooth is missing"},
		}},
		{"what the spacer does", []pickupFigure{
			{"preload", func(s *pickup.State) float64 { g := s.Build.Geometry(); return g.Preload }, mm, 4, "mm", "of the spring, spacer included"},
			{"pull", func(s *pickup.State) float64 { g := s.Build.Geometry(); return g.Release - g.Pickup }, degrees, 4, "°", "of the sector"},
			{"rate of fire", func(s *pickup.State) float64 { return s.Cycle.Summary.RateOfFire }, 1, 4, "/s", ""},
			{"muzzle velocity", func(s *pickup.State) float64 { return s.Cycle.Summary.MuzzleVelocity }, 1, 4, "m/s", ""},
			{"PME margin", func(s *pickup.State) float64 { return s.Cycle.Summary.PMEMargin }, 1e3, 3, "ms", "below 0 is premature engagement"},
		}},
		{"strength: safeties compare builds, they promise nothing", []pickupFigure{
			{"pickup speed", func(s *pickup.State) float64 { return s.PickupSpeed }, 1, 4, "m/s", "of the tooth that strikes the rack"},
			{"pickup energy", func(s *pickup.State) float64 { return s.PickupEnergy }, 1e3, 3, "mJ", "of the blow"},
			{"pickup force", func(s *pickup.State) float64 { return s.PickupForce }, 1, 4, "N", "spring, drag and blow"},
			{"pickup tooth, stress", func(s *pickup.State) float64 { return s.PickupStress }, mpa, 4, "MPa", "bending at the root"},
			{"pickup tooth, safety", func(s *pickup.State) float64 { return s.PickupSafety }, 1, 3, "", "static strength over stress"},
			{"release force", func(s *pickup.State) float64 { return s.ReleaseForce }, 1, 4, "N", "on the tip of the last tooth"},
			{"release tooth, stress", func(s *pickup.State) float64 { return s.ReleaseStress }, mpa, 4, "MPa", ""},
			{"release tooth, safety", func(s *pickup.State) float64 { return s.ReleaseSafety }, 1, 3, "", ""},
			{"spring, shear stress", func(s *pickup.State) float64 { return s.SpringShear }, mpa, 4, "MPa", "at release"},
			{"spring, safety", func(s *pickup.State) float64 { return s.SpringSafety }, 1, 3, "", "45 % of the wire's strength over it"},
			{"spring, solid", func(s *pickup.State) float64 { return s.SolidLength }, mm, 4, "mm", "with its coils touching"},
			{"spring, shortest", func(s *pickup.State) float64 { return s.ShortestLength }, mm, 4, "mm", "at release"},
		}},
	}
}

func printPickup(w io.Writer, r *pickup.Result, x *study.Examination) {
	say(w, fmt.Sprintf("%s: the sector meets the pickup tooth %s", r.Work.Now.Build.Name, r.Before.Contact.Where()), "  ")
	printFindings(w, "", x.Findings, targetLine(x.Build, x.Verdicts))
	for _, f := range r.After.Warnings() {
		fmt.Fprintln(w, wrap("after the work: ", f.Text+" ["+f.Code+"]", screen, "  "))
	}
	heads := []string{"", "as it stands", "after", ""}
	for i, g := range pickupFigures() {
		var lines [][]string
		if i == 0 {
			lines = append(lines,
				[]string{"first contact", r.Before.Contact.Kind.Say(), r.After.Contact.Kind.Say(), ""},
				[]string{"meets first", metFirst(&r.Before), metFirst(&r.After), "rack teeth count from the pickup tooth, 1"},
				[]string{"in the way", inTheWay(&r.Before), inTheWay(&r.After), "rack teeth, of the sector's first tooth"})
		}
		for _, f := range g.rows {
			before, after := f.text(&r.Before), f.text(&r.After)
			if before == "" && after == "" {
				continue
			}
			lines = append(lines, []string{f.name, dash(before), dash(after), f.note})
		}
		if i == 1 {
			lines = append(lines, []string{"drive", drive(&r.Before), drive(&r.After), ""})
		}
		printNoted(w, g.heading, heads, lines)
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
	stack := []figure{}
	for _, p := range r.Pads {
		stack = append(stack, figure(p))
	}
	o := object{
		{"format", 1}, {"build", r.Work.Now.Build.Name},
		{"spacer_m", figure(r.Spacer)}, {"stack_m", stack}, {"teeth_to_take_down", takenDownJSON(r.TakeDown)},
	}
	o = append(o, stateJSON(&r.Before)...)
	return append(o, member{"after", stateJSON(&r.After)}, member{"findings", findingsJSON(x.Findings)}, member{"advice", r.Steps()}, member{"cautions", cautions()})
}

func takenDownJSON(all []drivetrain.TakenDown) []object {
	list := []object{}
	for _, t := range all {
		list = append(list, object{{"tooth", t.Tooth}, {"depth_m", figure(t.Depth)}})
	}
	return list
}

func stateJSON(s *pickup.State) object {
	f := func(v float64) figure { return figure(v) }
	blocked := append([]int{}, s.Blocking...)
	strikes := []object{}
	for _, t := range s.HandOver.Strikes {
		strikes = append(strikes, object{{"tooth", t.Tooth}, {"sector_angle_rad", f(t.Angle)}, {"short_m", f(t.Short)}})
	}
	g := s.Build.Geometry()
	c := &s.Contact
	return object{
		{"contact", string(c.Kind)}, {"first_tooth", s.FirstTooth}, {"blocked_by", blocked},
		{"contact_angle_rad", f(c.Angle)}, {"sector_angle_rad", f(c.SectorAngle)}, {"contact_point_m", []figure{f(c.X), f(c.Y)}},
		{"offset_m", f(s.Offset)}, {"depth_of_contact", f(s.Depth)}, {"overlap", f(s.Overlap)}, {"spacer_limit_m", f(s.SpacerLimit)},
		{"pickup_motor_speed_rad_s", f(s.MotorSpeed)}, {"pickup_speed_m_s", f(s.PickupSpeed)}, {"pickup_energy_j", f(s.PickupEnergy)},
		{"stiffness_n_m", f(s.Stiffness)}, {"steady_force_n", f(s.SteadyForce)}, {"pickup_force_n", f(s.PickupForce)},
		{"pickup_form_factor", f(s.PickupForm)}, {"pickup_stress_pa", f(s.PickupStress)}, {"pickup_tooth_safety", f(s.PickupSafety)},
		{"release_force_n", f(s.ReleaseForce)}, {"release_form_factor", f(s.ReleaseForm)}, {"release_stress_pa", f(s.ReleaseStress)}, {"release_tooth_safety", f(s.ReleaseSafety)},
		{"geometric_stroke_m", f(s.Stroke)}, {"engaged_angle_rad", f(s.EngagedAngle)}, {"sector_engaged_angle_rad", f(s.SectorEngagedAngle)},
		{"drive_slip_m", f(s.HandOver.Slip)}, {"drive_lost", s.HandOver.Lost}, {"tips_strike", strikes},
		{"spring_shear_stress_pa", f(s.SpringShear)}, {"spring_safety", f(s.SpringSafety)}, {"spring_solid_length_m", f(s.SolidLength)}, {"spring_shortest_length_m", f(s.ShortestLength)},
		{"preload_m", f(g.Preload)}, {"stroke_m", f(g.Stroke)}, {"pull_angle_rad", f(g.Release - g.Pickup)}, {"pme_margin_s", f(s.Cycle.Summary.PMEMargin)},
		{"muzzle_velocity_m_s", f(s.Cycle.Summary.MuzzleVelocity)}, {"rate_of_fire_hz", f(s.Cycle.Summary.RateOfFire)},
		{"warnings", warningsJSON(s.Warnings())},
	}
}
