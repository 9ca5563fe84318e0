package sheet

import (
	"bytes"
	"errors"
	"fmt"
	"html/template"
	"math"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"unicode"
	"unicode/utf8"

	"example.org/ampstroke/drivetrain"
	"example.org/ampstroke/drivetrain/buildfile"
	"example.org/ampstroke/drivetrain/chart"
	"example.org/ampstroke/drivetrain/cycle"
	"example.org/ampstroke/drivetrain/figure"
	"example.org/ampstroke/drivetrain/finding"
	"example.org/ampstroke/drivetrain/heat"
	"example.org/ampstroke/drivetrain/quantity"
	"example.org/ampstroke/drivetrain/study"
)

// page is what the template shows, all in words.
type page struct {
	Style          template.CSS
	Name           string
	For, By, Date  string
	Mode           string
	Verdict        verdict
	Findings       []note
	Figures        []line
	Parts          []part
	Assumed        int
	Pictures       []*picture
	Before         *before
	Readings       string
	Measured       []reading
	LeftOut        []string
	Cautions       []string
	Made           []entry
	Unsaid, Target bool
}

// verdict is the sentence at the top.
type verdict struct{ Mark, Class, Text string }

// note is a finding.
type note struct{ Word, Class, Text string }

// line is a figure.
type line struct {
	Label, Meaning    string
	Value, Note       string
	Wish, Fate, Class string
	// before and after
	Was, Change string
}

// part is one of the build's.
type part struct {
	Name   string
	Groups []group
}

// group is keys of a part that have the beginning of their names in common, which may be
// nothing.
type group struct {
	Name string
	Keys []key
}

// key is a value of the build.
type key struct {
	Name, Meaning, Value string
	Assumed              bool
	Why                  string

	path    string   // in the build file, with # for the number of a list's member
	members []string // that it holds for, from 1
}

// sameKey is what lines for members of a list share.
type sameKey struct {
	path, text string
	assumed    bool
}

// picture is one with what belongs beside it.
type picture struct {
	Title, Caption string
	SVG            template.HTML
	Work           []string // at the pickup
	Heat           *warmth
}

// warmth is what a plan does.
type warmth struct {
	Plan, Verdict string
	Parts         []warmPart
}

type warmPart struct{ Name, Start, Peak, Limit, Reached string }

// before is the build held against the one it was.
type before struct {
	Name        string
	Verdict     string
	Differences []difference
	More        int // differences that nobody gave and that follow
	Figures     []line
	Picture     *picture
}

type difference struct{ Name, Was, Is string }

// reading is a line of what was measured.
type reading struct{ Figure, With, Measured, Computed, Apart string }

type entry struct{ Name, Text string }

// mostText is how much of a text that is given is shown.
const mostText = 240

// plain is a text of somebody's as it may stand on a page: what doesn't print is left out,
// and what is longer than anybody reads is cut, and says so.
func plain(text string) string {
	text = strings.Map(func(r rune) rune {
		switch {
		case unicode.IsSpace(r):
			return ' '
		case r == utf8.RuneError || unicode.IsControl(r) || unicode.Is(unicode.Cf, r) && r != zeroWidthJoiner:
			return -1
		}
		return r
	}, strings.ToValidUTF8(text, ""))
	text = strings.Join(strings.Fields(text), " ")
	if letters := []rune(text); len(letters) > mostText {
		text = fmt.Sprintf("%s… (%d characters)", string(letters[:mostText]), len(letters))
	}
	return text
}

// zeroWidthJoiner holds the parts of an emoji, and the letters of some scripts, together.
const zeroWidthJoiner = '\u200d'

// page puts the sheet into words.
func (s *Sheet) page() (*page, error) {
	d := s.Order.Document
	p := &page{
		Name: plain(d.Build.Name), For: plain(s.Order.For), By: plain(s.Order.By), Date: plain(s.Order.Date),
		Mode: string(d.Build.Trigger.Mode), Verdict: s.verdict(), LeftOut: s.leftOut(), Cautions: study.Cautions(), Made: s.made(),
		Target: len(d.Target) > 0,
	}
	for _, f := range s.Findings {
		n := note{"Caution", "caution", f.Text}
		switch {
		case f.Code == "target": // the sentence above says it
			continue
		case f.Weight == finding.Fault:
			n.Word, n.Class = "Fault", "fault"
		case f.Weight == finding.Unchecked:
			n.Word, n.Class = "Not checked", "unchecked"
		}
		p.Findings = append(p.Findings, n)
	}
	p.Figures = s.figures()
	p.Parts = parts(d)
	for _, q := range p.Parts {
		for _, g := range q.Groups {
			for _, k := range g.Keys {
				if k.Assumed {
					p.Assumed++
				}
			}
		}
	}
	var err error
	if p.Pictures, err = s.pictures(); err != nil {
		return nil, err
	}
	if s.Before != nil {
		p.Before = s.before()
		c, err := chart.Compare(s.Before.Results, s.Before.Faults()...)
		if p.Before.Picture, err = drawn(c, err, "One cycle of each", "Current, pack voltage, motor speed and piston travel of both builds over each other.", "1 is before, 2 is after."); err != nil {
			return nil, err
		}
	}
	if s.Order.Readings != nil {
		p.Readings, p.Measured = plain(s.Order.Readings.Name), s.readings()
	}
	return p, nil
}

// readings puts what was measured beside what is computed.
func (s *Sheet) readings() (all []reading) {
	for i := range s.Measured {
		m := &s.Measured[i]
		f := &m.Reading.Figure
		r := reading{Figure: f.Label, Measured: whole(f.Text(m.Reading.Value)), Computed: whole(f.Text(m.Computed)), Apart: "within its ±"}
		tolerance := *f
		tolerance.Digits = 2
		if f.Kind == quantity.Temperature { // a ± is no place on its scale
			tolerance.Kind = quantity.Number
		}
		r.Measured += " ± " + whole(tolerance.Text(m.Tolerance))
		var under []string
		if v := m.Reading.Supply; v > 0 {
			under = append(under, "motor alone on "+quantity.Voltage.Format(v))
		}
		for _, o := range m.Reading.With {
			under = append(under, plain(o.String()))
		}
		if n := m.Reading.Times; n > 1 {
			under = append(under, fmt.Sprintf("mean of %d", n))
		}
		if n := m.Reading.Instrument; n != "" {
			under = append(under, "by "+plain(n))
		}
		r.With = strings.Join(under, ", ")
		switch apart := m.Apart(); {
		case m.Why != "":
			r.Computed, r.Apart = "–", m.Why
		case apart > 1:
			r.Apart = fmt.Sprintf("%.1f times its ±", apart)
		}
		all = append(all, r)
	}
	return all
}

// drawn is a picture with its title, what it shows, for whoever can't see it, and what is
// said to all below the title; none where there is nothing to draw.
func drawn(c *chart.Picture, err error, title, shows, caption string) (*picture, error) {
	if errors.Is(err, chart.ErrNothing) {
		return nil, nil
	}
	if err != nil {
		return nil, err
	}
	var b bytes.Buffer
	err = c.Narrow().Inline(&b, strings.TrimSpace(shows+" "+caption))
	// What stands in a picture went through html.EscapeString, letter by letter.
	return &picture{Title: title, Caption: caption, SVG: template.HTML(b.String())}, err
}

// pictures are those of the build, in the order of a shot, and its energy last.
func (s *Sheet) pictures() (all []*picture, faults error) {
	x := s.Look
	add := func(c *chart.Picture, err error) func(title, shows, caption string) *picture {
		return func(title, shows, caption string) *picture {
			p, err := drawn(c, err, title, shows, caption)
			faults = errors.Join(faults, err)
			if p == nil {
				return &picture{} // of which nobody hears
			}
			all = append(all, p)
			return p
		}
	}
	add(chart.Cycle(x.Cycle))("Over one cycle", cycleTitle(x.Cycle), said(x, "current_peak", "inrush", "pack_voltage_min", "stroke"))
	if x.Cycle.Flight != nil {
		add(chart.FlightIn(x.Cycle))("After the release", "Over the time from the release: pressures, spring force, travel and speed of the piston, speed of the pellet.", said(x, "muzzle_velocity", "muzzle_energy", "piston_impact", "time_to_home"))
	}
	if s.Pickup != nil {
		add(chart.Pickup(s.Pickup))("The pickup from the side", "Sector and rack to scale, as the build stands and after the work.", said(x, "contact_angle", "depth_of_contact")).Work = s.Pickup.Steps()
	}
	if s.Heat != nil {
		w := warmthOf(s.Heat)
		add(chart.Heat(s.Heat))("Temperatures over the firing plan", "Temperatures of all parts over the plan, how far each is on its way to its limit, and the rate of fire.", w.Verdict).Heat = w
	}
	what := "One steady shot, from pickup to pickup."
	if x.Cycle.Status == cycle.Once {
		what = "The whole pull, from closing the switch to rest."
	}
	add(chart.Energy(x.Cycle))("Where the energy of a shot goes", "A bar for each part that takes energy, with joules and share.", what+" "+said(x, "overall_efficiency"))
	return all, faults
}

func cycleTitle(r *cycle.Result) string {
	what := "of the first shot and of the steady cycle"
	switch r.Status {
	case cycle.Stall:
		what = "from closing the switch to the stall"
	case cycle.Once:
		what = "from closing the switch to rest"
	}
	return "Current, pack voltage, motor speed and piston travel over time, " + what + "."
}

// said is the figures that a picture is looked at for.
func said(x *study.Examination, names ...string) string {
	var all []string
	for _, name := range names {
		if f, ok := study.FindFigure(name); ok {
			if v := strings.TrimSpace(f.Text(x.Value(name))); v != "" {
				all = append(all, f.Label+" "+v)
			}
		}
	}
	if len(all) == 0 {
		return ""
	}
	return capital(strings.Join(all, ", ")) + "."
}

// capital has a text begin with a capital letter.
func capital(text string) string {
	r, n := utf8.DecodeRuneInString(text)
	return string(unicode.ToUpper(r)) + text[n:]
}

// verdict says in one sentence what becomes of the build.
func (s *Sheet) verdict() verdict {
	head, text := study.Told(s.Look.Build, s.Look.Verdicts)
	v := verdict{Mark: capital(strings.ToLower(head)), Class: "good"}
	sentence := capital(text)
	faults, cautions := len(s.Findings.Of(finding.Fault)), 0
	for _, f := range s.Findings.Of(finding.Caution) {
		if f.Code != "target" {
			cautions++
		}
	}
	if slices.ContainsFunc(s.Look.Verdicts, func(v figure.Verdict) bool { return v.Fate == figure.Missed }) || strings.Contains(head, "MISSED") {
		v.Class = "missed"
	}
	switch {
	case faults > 0:
		v.Mark, v.Class = v.Mark+", and "+counted(faults, "fault"), "fault"
		sentence += "; " + ending(faults, "there is a fault that has", "there are %d faults that have") + " to be mended before it is fired"
	case cautions > 0:
		sentence += "; " + ending(cautions, "there is a caution", "there are %d cautions") + " to be minded"
	}
	v.Text = sentence + "."
	return v
}

func counted(n int, what string) string {
	if n == 1 {
		return "a " + what
	}
	return fmt.Sprintf("%d %ss", n, what)
}

func ending(n int, one, many string) string {
	if n == 1 {
		return one
	}
	return fmt.Sprintf(many, n)
}

// shown lists the figures of the first table: those that people ask of first, and those
// that a target asks for.
func shown(mode drivetrain.Mode, targets ...figure.Target) []string {
	names := study.Headline(mode)
	for _, t := range targets {
		for _, w := range t {
			if !slices.Contains(names, w.Figure) {
				names = append(names, w.Figure)
			}
		}
	}
	return names
}

// stages are the results of all rooms for a build.
func stages(x *study.Examination, h *heat.Result) *study.Stages {
	supplied := study.Supplied(x.Build)
	return &study.Stages{Cycle: x.Cycle, Motor: &supplied, Pickup: x.Pickup, Heat: h}
}

// figures are the lines of the first table.
func (s *Sheet) figures() (all []line) {
	x := s.Look
	list, at := study.All(), stages(x, s.Heat)
	for _, name := range shown(x.Build.Trigger.Mode, x.Target) {
		f, ok := list.Find(name)
		if !ok {
			continue
		}
		l := line{Label: f.Label, Meaning: f.Meaning, Value: whole(f.Text(f.Value(at)))}
		if f.Note != nil && l.Value != "" {
			// A note without a number belongs to the lines around it in longer tables.
			if n := f.Note(at); n != f.Meaning && strings.ContainsAny(n, "0123456789") && !strings.ContainsAny(f.Meaning, "0123456789") {
				l.Note = whole(n)
			}
		}
		if l.Value == "" {
			l.Value = "none"
		}
		for i := range x.Verdicts {
			v := &x.Verdicts[i]
			if v.Figure != name {
				continue
			}
			l.Wish, l.Fate, l.Class = whole(study.Asked(f.Kind, &v.Want)), "met", "good"
			switch {
			case v.Fate == figure.Missed:
				l.Fate, l.Class = "missed by "+study.Shown(f.Kind, v.Shortfall()), "missed"
			case study.NotJudged(x.Build, v):
				l.Fate, l.Class = "single fire has no such figure", ""
			case v.Fate == figure.NoFigure:
				l.Fate, l.Class = "missed: the build doesn't come to it", "missed"
			}
		}
		all = append(all, l)
	}
	return all
}

// words makes the words of a key's path: "stator › magnet › remanence" of
// "motor.stator.magnet.remanence". Members of lists are counted from 1.
func words(path string) string {
	steps := strings.Split(path, ".")
	if len(steps) > 1 {
		steps = steps[1:]
	}
	for i, w := range steps {
		if n, err := strconv.Atoi(w); err == nil {
			w = strconv.Itoa(n + 1)
		}
		steps[i] = strings.ReplaceAll(w, "_", " ")
	}
	return strings.Join(steps, " › ")
}

// meanings are those of all keys, by path, as far as a page needs them.
func meanings() func(path string) string {
	all := map[string]string{}
	for _, k := range buildfile.Keys() {
		all[k.Path], _, _ = strings.Cut(k.Meaning, ";")
	}
	return func(path string) string {
		parts := strings.Split(path, ".")
		for i, p := range parts {
			if strings.Trim(p, "0123456789") == "" {
				parts[i] = "0"
			}
		}
		path = strings.Join(parts, ".")
		for _, list := range []string{"", ".0", ".0.0"} {
			if m, ok := all[path+list]; ok {
				return m
			}
		}
		return ""
	}
}

// parts is the build, part by part.
func parts(d *buildfile.Document) (all []part) {
	meaning, members := meanings(), map[sameKey]*key{}
	keys := map[string][]*key{} // of each part
	var order []string
	for _, v := range gathered(d.Values()) {
		name, _, _ := strings.Cut(v.Path, ".")
		if name == "name" {
			continue
		}
		k := &key{path: v.Path, Meaning: meaning(v.Path), Value: v.Text, Assumed: v.Assumed, Why: v.Why}
		if v.Assumed {
			k.Value = figure.Brief(v.Text)
		}
		k.Value = whole(strings.NewReplacer("+/-", "±", "+-", "±").Replace(plain(k.Value)))
		steps := strings.Split(v.Path, ".")
		if i := slices.IndexFunc(steps, func(w string) bool { _, err := strconv.Atoi(w); return err == nil }); i >= 0 {
			// Members of a list that have the same value share a line.
			n, _ := strconv.Atoi(steps[i])
			steps[i] = "#"
			same := sameKey{strings.Join(steps, "."), v.Text, v.Assumed}
			if first := members[same]; first != nil {
				first.members = append(first.members, strconv.Itoa(n+1))
				continue
			}
			k.path, k.members = same.path, []string{strconv.Itoa(n + 1)}
			members[same] = k
		}
		if keys[name] == nil {
			order = append(order, name)
		}
		keys[name] = append(keys[name], k)
	}
	for _, name := range order {
		p := part{Name: capital(name)}
		for _, k := range keys[name] {
			of, last := "", strings.TrimPrefix(k.path, name+".")
			if i := strings.LastIndex(last, "."); i >= 0 {
				of, last = last[:i], last[i+1:]
			}
			of, k.Name = k.words(of), k.words(last)
			if i := len(p.Groups) - 1; i < 0 || p.Groups[i].Name != of {
				p.Groups = append(p.Groups, group{Name: of})
			}
			g := &p.Groups[len(p.Groups)-1]
			g.Keys = append(g.Keys, *k)
		}
		all = append(all, p)
	}
	return all
}

// whole keeps numbers and their units on one line.
func whole(text string) string {
	return unitBehind.ReplaceAllString(strings.TrimSpace(text), "$1\u00a0$2")
}

var unitBehind = regexp.MustCompile(`(\d) ([\pL/%°µ])`)

// words makes words of a part of the key's path, with the numbers of members of a list in
// the place of #.
func (k *key) words(path string) string {
	return strings.NewReplacer(".", " › ", "_", " ", "#", strings.Join(k.members, ", ")).Replace(path)
}

// gathered puts lists of plain values into one value each, without a number behind the
// path: pads, and tables, whose lines a semicolon divides.
func gathered(values []buildfile.Value) (all []buildfile.Value) {
	line := ""
	for _, v := range values {
		list, last := v.Path, 0
		numbers := []string{}
		for {
			i := strings.LastIndex(list, ".")
			if _, err := strconv.Atoi(list[i+1:]); i < 0 || err != nil {
				break
			}
			numbers = append(numbers, list[i+1:])
			list = list[:i]
		}
		if len(numbers) == 0 {
			all = append(all, v)
			continue
		}
		now := ""
		if len(numbers) > 1 {
			now = numbers[len(numbers)-1]
		}
		if last = len(all) - 1; last >= 0 && all[last].Path == list && !v.Assumed {
			between := ", "
			if now != line {
				between = "; "
			}
			all[last].Text += between + v.Text
		} else {
			v.Path = list
			all = append(all, v)
		}
		line = now
	}
	return all
}

// warmthOf is what a plan does, in words.
func warmthOf(r *heat.Result) *warmth {
	celsius := func(v float64) string {
		if math.IsNaN(v) {
			return "–"
		}
		return fmt.Sprintf("%.0f °C", v-quantity.Celsius)
	}
	w := &warmth{Verdict: capital(r.Verdict())}
	rounds := "rounds"
	if r.Rounds == 1 {
		rounds = "round"
	}
	w.Plan = fmt.Sprintf("%s: %d %s in %s", plain(r.Plan.Name), r.Rounds, rounds, heat.Span(r.Duration))
	for _, p := range r.Parts {
		if math.IsNaN(p.Start) {
			continue // none in this build
		}
		q := warmPart{Name: p.Name, Start: celsius(p.Start), Peak: celsius(p.Peak), Limit: celsius(p.Limit), Reached: "not reached"}
		if math.IsNaN(p.Limit) {
			q.Reached = "not known"
		}
		if !math.IsNaN(p.RoundsToLimit) {
			q.Reached = fmt.Sprintf("in round %.0f", p.RoundsToLimit)
		}
		if p.Name == r.FirstOut {
			q.Reached += ", the first"
		}
		w.Parts = append(w.Parts, q)
	}
	return w
}

// before puts the figures of both builds side by side.
func (s *Sheet) before() *before {
	m := s.Before
	old, x := m.Looks[0], m.Looks[1]
	head, text := study.Told(old.Build, m.Verdicts[0])
	b := &before{Name: plain(old.Build.Name), Verdict: capital(strings.ToLower(head)) + ": " + text + "."}
	for _, d := range m.Differences {
		if !slices.ContainsFunc(d.Entries, func(e buildfile.Entry) bool { return e.Text != "" && !e.Assumed }) {
			b.More++
			continue
		}
		name, _, _ := strings.Cut(d.Path, ".")
		b.Differences = append(b.Differences, difference{name + " › " + words(d.Path), shownEntry(d.Entries[0]), shownEntry(d.Entries[1])})
	}
	list, was, is := study.All(), stages(old, nil), stages(x, nil)
	for _, name := range shown(x.Build.Trigger.Mode, old.Target, x.Target) {
		f, ok := list.Find(name)
		if !ok {
			continue
		}
		v0, v1 := f.Value(was), f.Value(is)
		l := line{Label: f.Label, Was: whole(f.Text(v0)), Value: whole(f.Text(v1))}
		if l.Was == "" && l.Value == "" {
			continue
		}
		if l.Was != "" && l.Value != "" && (m.Alike(1) || !f.Whole) {
			l.Change = whole(strings.ReplaceAll(figure.Change(f.In(v1), f.In(v0), f.Digits, f.Unit), "-", "−"))
		}
		l.Was, l.Value, l.Change = dash(l.Was), dash(l.Value), dash(l.Change)
		if _, missed := m.Mark(name, 1); missed {
			l.Value += " (missed)"
		}
		b.Figures = append(b.Figures, l)
	}
	return b
}

// shownEntry is what one of two files says of a key.
func shownEntry(e buildfile.Entry) string {
	if e.Assumed {
		return figure.Brief(e.Text) + " (assumed)"
	}
	return dash(plain(e.Text))
}

// dash stands where there is nothing to show.
func dash(text string) string {
	if text == "" {
		return "–"
	}
	return text
}

// made tells how the page was made.
func (s *Sheet) made() (all []entry) {
	o := &s.Order
	add := func(name, text string) {
		if text != "" {
			all = append(all, entry{name, text})
		}
	}
	add("Command", plain(o.Command))
	if o.Version != "" {
		add("Version", "ampstroke "+plain(o.Version))
	}
	add("Build file", plain(filepath.Base(o.Document.File()))+", SHA-256 "+o.Document.Sum())
	if o.Against != nil {
		add("Build before", plain(filepath.Base(o.Against.File()))+", SHA-256 "+o.Against.Sum())
	}
	return all
}

// leftOut says in plain words what the figures don't know of.
func (s *Sheet) leftOut() []string {
	all := []string{
		"No real gun was measured against the model. Its figures compare builds; a chronograph and a bench have the last word.",
		"Gears, sector and rack are rigid and exact: wear, fatigue, rounded corners, backlash and shocks are left out.",
		"A piston that is not home when the sector comes round is reported, but what it breaks is not followed.",
		"Air is an ideal gas, the spring runs free of its guide, seal and pellet brake by constant forces; the pellet is not followed behind the muzzle.",
		"The pack doesn't age, the motor's magnetic circuit and losses are those of textbooks, and so are heat capacities that nobody gave.",
	}
	if s.Heat == nil {
		all = append(all, "No firing plan was given: every part is at the temperature of its surroundings, and nothing is said of what gets hot first.")
	} else {
		all = append(all, "In the firing plan each part has one temperature and the air stands still; outside of it every part is at the temperature of its surroundings.")
	}
	return all
}
