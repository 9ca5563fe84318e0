package chart

import (
	"fmt"
	"math"

	"gonum.org/v1/plot/plotter"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"

	"example.org/ampstroke/drivetrain/listen"
)

// Listen draws what was heard in a recording of some name: the sound with its shots
// marked, the onsets with the threshold, and of bursts how the times between shots are
// spread, and after which time the sound repeats. The error is [ErrNothing] of what is no
// result of [listen.Listen].
func Listen(name string, r *listen.Result) (*Picture, error) {
	if r == nil || r.Course.Step == 0 {
		return nil, nothing("there is no result of a recording")
	}
	top, left, right := heard(name, r)
	const width, height, lower = 23 * vg.Centimeter, 19 * vg.Centimeter, 7 * vg.Centimeter
	if left == nil {
		return top.picture(width, height-lower), nil
	}
	top.arrange(width)
	left.arrange(width / 2)
	right.arrange(width / 2)
	return &Picture{width: width, height: height, draw: func(c draw.Canvas) {
		c.SetColor(paper)
		c.Fill(c.Rectangle.Path())
		top.draw(draw.Crop(c, 0, 0, lower, 0))
		left.draw(draw.Crop(c, 0, -width/2, 0, lower-height))
		right.draw(draw.Crop(c, width/2, 0, 0, lower-height))
	}}, nil
}

// heard are what Listen draws; without a burst of three the latter two are nil.
func heard(name string, r *listen.Result) (top, left, right *stack) {
	c := &r.Course
	top = &stack{
		title: short(name, 50), subtitle: heardIn(r), second: "dots: shots  ·  rings: missed  ·  grey: faint or of another rate, not counted",
		axis: "time, s", hi: max(r.Duration, 1e-3),
	}
	wave := waveform(c, solid("sound"))
	threshold := dashed("threshold")
	strength := solid("strength of onsets")
	strength.line.Width = vg.Points(1)
	var onsets plotter.XYs
	for k, v := range c.Strength {
		onsets = append(onsets, plotter.XY{X: c.Start + float64(k)*c.Step, Y: v})
	}
	top.panels = []panel{
		{label: "sound", bands: []band{wave}, points: shotMarks(r, crest(c)), least: math.NaN(), span: 1e-9},
		{label: "onset strength", least: 0, span: 1e-3, lines: []course{
			{envelope(onsets, top.hi), strength},
			{plotter.XYs{{X: 0, Y: r.Threshold}, {X: top.hi, Y: r.Threshold}}, threshold},
		}},
	}
	top.legend = []stroke{strength, threshold}
	if lead := r.Leading(); lead != nil {
		return top, spreadOf(r), repeatsOf(lead, &r.Course)
	}
	return top, nil, nil
}

// heardIn says in a line what the recording gave.
func heardIn(r *listen.Result) string {
	switch r.Outcome {
	case listen.Nothing:
		return fmt.Sprintf("no shot was heard: the loudest onset is %.1f, the threshold %.1f", r.Loudest, r.Threshold)
	case listen.SingleShots:
		return r.Sum() + ", no burst of three"
	}
	return fmt.Sprintf("%.2f rounds a second ± %.2f (two standard deviations)  ·  %s", r.RateOfFire, 2*r.RateSD, r.Sum())
}

// crest is the height at which shots are marked, above the sound.
func crest(c *listen.Course) float64 {
	const above = 1.15
	most := 0.
	for i := range c.Most {
		most = max(most, c.Most[i], -c.Least[i])
	}
	return above * most
}

// waveform draws the least and the greatest sample of each dot of a PNG.
func waveform(c *listen.Course, style stroke) band {
	const dots = 1200
	b := band{style: style}
	together := (len(c.Least) + dots - 1) / dots
	for from := 0; from < len(c.Least); from += together {
		to := min(from+together, len(c.Least))
		least, most := c.Least[from], c.Most[from]
		for i := from; i < to; i++ {
			least, most = min(least, c.Least[i]), max(most, c.Most[i])
		}
		x := c.Column * float64(from+to) / 2
		b.lo, b.hi = append(b.lo, plotter.XY{X: x, Y: least}), append(b.hi, plotter.XY{X: x, Y: most})
	}
	return b
}

// shotMarks marks all places at a height.
func shotMarks(r *listen.Result, height float64) (all []mark) {
	for _, b := range r.Bursts {
		for _, p := range b.Places {
			all = append(all, mark{x: p.Time, y: height, open: !p.Heard, pale: b.Faint || b.Odd})
		}
	}
	return all
}

// spreadOf is the histogram of the times between shots, of all bursts that count.
func spreadOf(r *listen.Result) *stack {
	s := &stack{axis: "time between shots, ms", hi: 1, panels: []panel{{label: "count", least: 0, span: 1}}}
	var intervals []float64
	for _, b := range r.Counted() {
		for i := 1; i < len(b.Places); i++ {
			if from, to := b.Places[i-1], b.Places[i]; from.Heard && to.Heard && !math.IsNaN(b.Rate) {
				intervals = append(intervals, 1e3*(to.Time-from.Time))
			}
		}
	}
	if len(intervals) == 0 {
		s.panels[0].note = "every second shot was missed"
		return s
	}
	period := 1e3 / r.RateOfFire
	margin := period * 2 * r.RateSD / r.RateOfFire
	lo, hi := period-margin, period+margin
	for _, v := range intervals {
		lo, hi = min(lo, v), max(hi, v)
	}
	const bins, least = 25, 0.2 // ms
	width := max(least, roundStep((hi-lo)/bins))
	first, last := math.Floor(lo/width)-1, math.Floor(hi/width)+2
	s.lo, s.hi = first*width, last*width
	style := solid("")
	b := band{style: style}
	counts := make([]float64, int(last-first))
	for _, v := range intervals {
		counts[int(math.Floor(v/width)-first)]++
	}
	for i, n := range counts {
		from, to := (first+float64(i))*width, (first+float64(i)+1)*width
		b.lo = append(b.lo, plotter.XY{X: from}, plotter.XY{X: to})
		b.hi = append(b.hi, plotter.XY{X: from, Y: n}, plotter.XY{X: to, Y: n})
	}
	s.panels[0].bands = []band{b}
	s.moments = []moment{
		{x: period, name: fmt.Sprintf("T %.2f ms ± %.2f ms", period, margin), style: style},
		{x: period - margin, style: dashed("")}, {x: period + margin, style: dashed("")},
	}
	return s
}

// repeatsOf is the autocorrelation of the leading burst.
func repeatsOf(lead *listen.Burst, c *listen.Course) *stack {
	s := &stack{axis: "lag, ms", hi: 1, panels: []panel{{label: "likeness", least: math.NaN(), span: 0.1}}}
	var xy plotter.XYs
	for lag, v := range c.Repeats {
		xy = append(xy, plotter.XY{X: 1e3 * float64(lag) * c.Step, Y: v})
	}
	s.hi = xy[len(xy)-1].X
	s.panels[0].lines = []course{{xy, solid("")}}
	for n := 1.; n*1e3/lead.Rate < s.hi; n++ {
		name := "T"
		if n > 1 {
			name = fmt.Sprintf("%.0f T", n)
		}
		s.moments = append(s.moments, moment{x: n * 1e3 / lead.Rate, name: name, style: dashed("")})
	}
	return s
}
