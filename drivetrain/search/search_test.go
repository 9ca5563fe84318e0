package search_test

import (
	"context"
	"encoding/json"
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"runtime"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/ampstroke/drivetrain/buildfile"
	"example.org/ampstroke/drivetrain/cycle"
	"example.org/ampstroke/drivetrain/finding"
	"example.org/ampstroke/drivetrain/internal/effort"
	"example.org/ampstroke/drivetrain/search"
	"example.org/ampstroke/drivetrain/study"
)

// plain takes the effects out that the references don't have.
func plain() []string {
	return []string{"spring.waves=false", "barrel.air=still", "barrel.wall_heat=0", "cylinder.wall_heat=0", "motor.commutation=0 %"}
}

// slot is a key with parts of some values, at prices of 0, 1, 2…
func slot(key string, values ...string) buildfile.Slot {
	s := buildfile.Slot{Key: key}
	for i, v := range values {
		s.Parts = append(s.Parts, buildfile.Part{Name: fmt.Sprint(v), Value: v, Price: 100 * int64(i)})
	}
	return s
}

// shelf is the plain demo with some slots.
func shelf(t testing.TB, wish string, slots ...buildfile.Slot) *buildfile.Shelf {
	t.Helper()
	d, err := buildfile.DemoDocument(plain()...)
	require.NoError(t, err)
	return &buildfile.Shelf{Name: "a shelf", Base: d, Wish: wish, Slots: slots}
}

// report runs a whole search.
func report(t testing.TB, s *buildfile.Shelf, asked search.Asked) *search.Report {
	t.Helper()
	r, err := search.NewReport(s, asked)
	require.NoError(t, err)
	require.NoError(t, r.Run(context.Background(), nil))
	require.NoError(t, r.Finish(context.Background()))
	return r
}

func numbers(l []search.Found) []int64 {
	all := []int64{}
	for i := range l {
		all = append(all, l[i].Number)
	}
	return all
}

// A shelf of two by three with one rule, counted by hand. The gears' ratios fire 20.3,
// 19.1 and 13.9 rounds a second; the pellet of 6.20 mm passes no barrel.
//
//	1  0.20 g, 13    fires 20.3 /s   meets 20 /s
//	2  0.20 g, 14    fires 19.1 /s   misses
//	3  0.20 g, 20    fires 13.9 /s   misses
//	4  6.20 mm, 13   misfit
//	5  6.20 mm, 14   ruled out
//	6  6.20 mm, 20   misfit
func TestCountingByHand(t *testing.T) {
	pellet := buildfile.Slot{Key: "pellet", Parts: []buildfile.Part{
		{Name: "light", Value: "base", Price: 150},
		{Name: "wide", Value: "{diameter: 6.20 mm}", Price: 25, NeverWith: []buildfile.Mates{{Slot: "gears.ratio", Names: []string{"14"}}}},
	}}
	s := shelf(t, "{rate_of_fire: {min: 20 /s}}", pellet, slot("gears.ratio", "13", "14", "20"))
	r := report(t, s, search.Asked{Top: 5, Near: 5})
	assert.EqualValues(t, 6, r.Combinations)
	assert.EqualValues(t, 1, r.RuledOut)
	require.Len(t, r.Misfits, 1)
	assert.Equal(t, "pellet.diameter", r.Misfits[0].Key)
	assert.EqualValues(t, 2, r.Misfits[0].Combinations)
	assert.EqualValues(t, 4, r.Misfits[0].First)
	assert.Zero(t, r.Unfinished+r.Stalled)
	assert.EqualValues(t, 3, r.Fired)
	assert.EqualValues(t, 1, r.Met)
	assert.Equal(t, []search.WantTally{{Below: 2, AloneBelow: 2}}, r.Tally.Wants)
	assert.Equal(t, []int64{1}, numbers(r.Best))
	assert.Equal(t, []int64{1}, numbers(r.OnFront))
	assert.Equal(t, []int64{2, 3}, numbers(r.Nearest), "the slower the farther")
	assert.EqualValues(t, 150, r.Cheapest.Price)
	assert.Equal(t, [][]search.PartTally{
		{{Fired: 3, Met: 1, Sound: 1, Cheapest: 150}, {Cheapest: -1}},
		{{Fired: 1, Met: 1, Sound: 1, Cheapest: 150}, {Fired: 1, Cheapest: -1}, {Fired: 1, Cheapest: -1}},
	}, r.Parts)

	var fates []string
	for f, err := range search.Run(context.Background(), s, search.Settings{}) {
		require.NoError(t, err)
		fates = append(fates, fmt.Sprintf("%d %v %d %v", f.Number, f.Fate == search.Fired, f.Price, f.Met))
	}
	assert.Equal(t, []string{"1 true 150 true", "2 true 250 false", "3 true 350 false", "4 false 25 false", "6 false 225 false"}, fates)
}

// reference is what an independent program counted.
type reference struct {
	Combinations int64 `json:"combinations"`
	RuledOut     int64 `json:"ruled_out"`
	Stalled      int64 `json:"stalled"`
	Unfinished   int64 `json:"unfinished"`
	Fired        int64 `json:"fired"`
	Met          int64 `json:"met"`
	Misfits      []struct {
		Key          string `json:"key"`
		Combinations int64  `json:"combinations"`
	} `json:"misfits"`
	Wants []struct {
		What       string `json:"what"`
		Below      int64  `json:"below"`
		Above      int64  `json:"above"`
		AloneBelow int64  `json:"alone_below"`
		AloneAbove int64  `json:"alone_above"`
	} `json:"wants"`
	Parts []struct {
		Fired    int64    `json:"fired"`
		Met      int64    `json:"met"`
		Cheapest *float64 `json:"cheapest"`
	} `json:"parts"`
	Best struct {
		List []entry `json:"list"`
	} `json:"best"`
	Front struct {
		LeftOut int64   `json:"left_out"`
		List    []entry `json:"list"`
	} `json:"front"`
	Nearest []entry `json:"nearest"`
}

type entry struct {
	Number  int64              `json:"number"`
	Price   float64            `json:"price"`
	Figures map[string]float64 `json:"figures"`
	Misses  []struct {
		What     string  `json:"what"`
		Relative float64 `json:"relative"`
	} `json:"misses"`
}

const references = "../../testdata/reference/search"

// Counts, lists and figures are those of an independent program, for every question.
func TestReference(t *testing.T) {
	questions := map[string]struct {
		set   []string
		asked search.Asked
	}{
		"cheapest":       {nil, search.Asked{Top: 10, Near: 5}},
		"cool":           {nil, search.Asked{By: "current_rms", Top: 5, Front: []string{"price", "muzzle_energy"}}},
		"quick":          {nil, search.Asked{By: "trigger_delay", Top: 10, Show: []string{"current_peak", "piston_impact"}, Near: 4}},
		"smaller pellet": {[]string{"pellet.mass=0.204 g", "pellet.diameter=5.90 mm"}, search.Asked{By: "muzzle_energy", Top: 8, Front: []string{"price", "pme_margin", "shots_per_charge", "time_to_home"}}},
		"cold pack":      {[]string{"ambient.temperature=-12 degC", "pellet.mass=0.28 g"}, search.Asked{Top: 10, Near: 7}},
	}
	text, err := os.ReadFile(filepath.Join(references, "cupboard.json"))
	require.NoError(t, err)
	var all map[string]reference
	require.NoError(t, json.Unmarshal(text, &all))
	require.Len(t, all, len(questions))
	for name, want := range all {
		t.Run(name, func(t *testing.T) {
			q := questions[name]
			s, err := buildfile.ReadShelf(filepath.Join(references, "cupboard.shelf.yaml"), append(plain(), q.set...)...)
			require.NoError(t, err)
			q.asked.Broken = true
			r := report(t, s, q.asked)
			assert.Equal(t, []int64{want.Combinations, want.RuledOut, want.Unfinished, want.Stalled, want.Fired, want.Met, want.Front.LeftOut},
				[]int64{r.Combinations, r.RuledOut, r.Unfinished, r.Stalled, r.Fired, r.Met, r.LeftOut})
			misfits := map[string]int64{}
			for _, m := range r.Misfits {
				misfits[m.Key] = m.Combinations
			}
			require.Len(t, misfits, len(want.Misfits))
			for _, m := range want.Misfits {
				assert.Equal(t, m.Combinations, misfits[m.Key], m.Key)
			}
			for i, w := range want.Wants {
				assert.Equal(t, w.What, r.Wants[i].Figure)
				assert.Equal(t, search.WantTally{Below: w.Below, Above: w.Above, AloneBelow: w.AloneBelow, AloneAbove: w.AloneAbove}, r.Tally.Wants[i], w.What)
			}
			i := 0
			for _, slot := range r.Parts {
				for _, p := range slot {
					w := want.Parts[i]
					i++
					assert.Equal(t, []int64{w.Fired, w.Met}, []int64{p.Fired, p.Met})
					cheapest := int64(-1)
					if w.Cheapest != nil {
						cheapest = int64(math.Round(100 * *w.Cheapest))
					}
					assert.Equal(t, cheapest, p.Cheapest)
				}
			}
			same(t, r, r.Best, want.Best.List)
			slices.SortFunc(r.OnFront, func(a, b search.Found) int { return int(a.Number - b.Number) })
			slices.SortFunc(want.Front.List, func(a, b entry) int { return int(a.Number - b.Number) })
			same(t, r, r.OnFront, want.Front.List)
			if want.Nearest != nil {
				same(t, r, r.Nearest, want.Nearest)
			}
		})
	}
}

// same holds a list against the reference's: numbers and prices exactly, figures to 1e-5.
func same(t *testing.T, r *search.Report, got []search.Found, want []entry) {
	t.Helper()
	require.Len(t, got, len(want))
	for i := range got {
		f, w := &got[i], &want[i]
		assert.Equal(t, w.Number, f.Number)
		assert.Equal(t, int64(math.Round(100*w.Price)), f.Price)
		for k, info := range r.Figures {
			v, ok := w.Figures[info.Key()]
			require.True(t, ok, info.Key())
			tol := 1e-5 * math.Abs(v)
			if info.Name == "pme_margin" {
				tol = 1e-6
			}
			assert.InDelta(t, v, f.Values[k], tol, info.Name)
		}
		misses := r.Misses(f)
		require.Len(t, misses, len(w.Misses))
		for k, m := range misses {
			assert.Equal(t, w.Misses[k].What, m.Want.Figure)
			assert.InDelta(t, w.Misses[k].Relative, m.Relative, 1e-4)
		}
	}
}

// wide is a shelf on which flights are read off tables: many electric choices, some air.
func wide(t testing.TB) *buildfile.Shelf {
	return shelf(t, "{rate_of_fire: {min: 19 /s}, muzzle_velocity: {min: 120 m/s, max: 138 m/s}, pme_margin: {min: -3 ms}}",
		slot("motor.armature.turns", "20", "23", "26", "28", "30", "33"), slot("gears.ratio", "8", "9.2", "10.4", "11.6", "13"),
		slot("battery", "{series: 2}", "{series: 3}", "{capacity: 800 mAh}"),
		slot("spring.rate", "500 N/m", "680 N/m"), slot("cylinder.port", "36 mm", "44 mm"), slot("barrel.length", "250 mm", "370 mm"))
}

// Whether flights are flown or read off a table, figures are the same to 1e-6 and fates
// are the same.
func TestTablesAgainstFlights(t *testing.T) {
	s := wide(t)
	show := search.Settings{Figures: []string{"trigger_delay", "time_to_home", "piston_impact", "overall_efficiency", "pme_rate_of_fire", "muzzle_energy", "current_rms"}}
	apart := show
	apart.Apart, apart.Cycle.Flight = true, 1e-8
	var flown []search.Found
	for f, err := range search.Run(context.Background(), s, apart) {
		require.NoError(t, err)
		flown = append(flown, f)
	}
	i, worst, differ := 0, 0., 0
	for f, err := range search.Run(context.Background(), s, show) {
		require.NoError(t, err)
		w := &flown[i]
		i++
		require.Equal(t, w.Number, f.Number)
		require.Equal(t, w.Fate, f.Fate)
		require.Equal(t, w.Met, f.Met)
		require.Equal(t, w.Faults, f.Faults)
		for k, v := range f.Values {
			require.Equal(t, math.IsNaN(w.Values[k]), math.IsNaN(v))
			if !math.IsNaN(v) {
				scale := max(1e-3, math.Abs(w.Values[k]))
				worst = max(worst, math.Abs(v-w.Values[k])/scale)
				if v != w.Values[k] {
					differ++
				}
			}
		}
	}
	t.Logf("worst difference %.1e", worst)
	assert.Less(t, worst, 1e-6)
	assert.Greater(t, differ, 1000, "tables are used")
	assert.Len(t, flown, i)
}

// What a search finds of a build by its drive and its flights is what the whole cycle
// says, to the last bit, and its faults are those of study.
func TestFindsWhatStudyFinds(t *testing.T) {
	s := wide(t)
	s.Wish = "{rate_of_fire: {min: 1 /s}}" // so that faults are looked at
	s.Slots[0].Parts, s.Slots[1].Parts, s.Slots[4].Parts = s.Slots[0].Parts[:2], s.Slots[1].Parts[:3], s.Slots[4].Parts[:1]
	s.Slots[3] = slot("spring.rate", "500 N/m", "90 N/m")
	s.Slots = append(s.Slots, slot("rack.taken_down", "base", "none"), slot("pellet.hop_force", "1 N", "200 N"), slot("harness.fuse.rating", "25 A", "12 A"))
	s.Slots[7].Parts[1].Also = []buildfile.Setting{{Key: "cylinder.seal_leak", Value: "3 mm2"}} // so that the piston behind a stuck pellet comes home
	names := []string{"trigger_delay", "muzzle_velocity", "time_to_home", "pme_margin", "overall_efficiency", "swept_volume", "inrush", "stroke"}
	rng := rand.New(rand.NewPCG(5, 5))
	c, err := s.Compose()
	require.NoError(t, err)
	seen := map[string]bool{}
	n, of := 0, 8 // one of so many is examined
	if effort.All() {
		of = 4
	}
	for f, err := range search.Run(context.Background(), s, search.Settings{Figures: names, Apart: true}) {
		require.NoError(t, err)
		if rng.IntN(of) > 0 {
			continue
		}
		b, fault := c.Build(f.Parts)
		require.Nil(t, fault)
		x, err := study.Examine(context.Background(), b, c.Base().Target, cycle.Settings{})
		require.NoError(t, err)
		require.Equal(t, x.Cycle.Status == cycle.Stall, f.Fate == search.Stalled)
		if f.Fate != search.Fired {
			continue
		}
		for k, name := range names {
			v := x.Value(name)
			assert.True(t, v == f.Values[k+1] || math.IsNaN(v) && math.IsNaN(f.Values[k+1]), "%s: %v for %v", name, f.Values[k+1], v)
		}
		if !f.Met {
			continue
		}
		n++
		var want []string
		for _, o := range x.Findings {
			if o.Weight == finding.Fault && !slices.Contains(want, o.Code) {
				want = append(want, o.Code)
			}
		}
		assert.ElementsMatch(t, want, f.Faults)
		assert.Equal(t, len(want) == 0, f.Sound)
		for _, code := range want {
			seen[code] = true
		}
	}
	assert.Greater(t, n, 200/of)
	for _, code := range []string{"premature-engagement", "pellet-stuck", "fuse-rating", "blocked"} {
		assert.True(t, seen[code], "no build of the test has %s", code)
	}
}

// Shares merged in any order give what one run gives, and one core what all do.
func TestSharesAndCores(t *testing.T) {
	s := wide(t)
	s.Digest, s.Wish = "x", "{rate_of_fire: {min: 19 /s}}"
	s.Slots[3].Parts, s.Slots[4].Parts = s.Slots[3].Parts[:1], s.Slots[4].Parts[:1]
	s.Slots[5] = slot("barrel", "{bore: 5.90 mm}", "{length: 250 mm}", "{bore: 25 mm}")
	s.Slots = append(s.Slots, slot("pellet.hop_force", "1 N", "300 N"))
	// Behind a stuck pellet a tight piston takes long to come home, and each flight as long.
	s.Slots[6].Parts[1].Also = []buildfile.Setting{{Key: "cylinder.seal_leak", Value: "3 mm2"}}
	asked := search.Asked{By: "muzzle_velocity", Top: 7, Near: 3, Front: []string{"price", "muzzle_velocity"}, Broken: true, Cloud: true}
	whole := report(t, s, asked)
	require.Greater(t, whole.Met, int64(20))
	require.Greater(t, whole.LeftOut, int64(20), "stuck pellets have no velocity")
	require.Len(t, whole.Misfits, 2)
	tell := func(r *search.Report) string {
		text, err := json.Marshal([]any{r.Tally, list(r, r.Best), list(r, r.OnFront), list(r, r.Nearest), r.SoundCloud, r.MissedCloud, r.Cheapest.Number, r.LeftOut})
		require.NoError(t, err)
		return string(text)
	}
	of := 3
	if effort.All() {
		of = 5
	}
	var shares []search.Share
	for part := 1; part <= of; part++ {
		a := asked
		a.Settings.First, a.Settings.Last = search.Interval(part, of, s.Combinations())
		r, err := search.NewReport(s, a)
		require.NoError(t, err)
		require.NoError(t, r.Run(context.Background(), nil))
		text, err := json.Marshal(r.Share(part, of, "same"))
		require.NoError(t, err)
		var share search.Share
		require.NoError(t, json.Unmarshal(text, &share))
		shares = append(shares, share)
	}
	rng := rand.New(rand.NewPCG(1, 1))
	merge := func(shares []search.Share) (*search.Report, error) {
		r, err := search.NewReport(s, asked)
		require.NoError(t, err)
		if err := r.Merge(context.Background(), shares, "same"); err != nil {
			return nil, err
		}
		return r, r.Finish(context.Background())
	}
	for range of / 2 {
		slices.Reverse(shares) // the last numbers first
		r, err := merge(shares)
		require.NoError(t, err)
		assert.Equal(t, tell(whole), tell(r))
		rng.Shuffle(of, func(i, j int) { shares[i], shares[j] = shares[j], shares[i] })
		r, err = merge(shares)
		require.NoError(t, err)
		assert.Equal(t, tell(whole), tell(r))
	}
	_, err := merge(shares[1:])
	assert.ErrorContains(t, err, "missing")
	_, err = merge(append(slices.Clone(shares), shares[0]))
	assert.ErrorContains(t, err, "twice")
	other := slices.Clone(shares)
	other[2].Shelf = "y"
	_, err = merge(other)
	assert.ErrorContains(t, err, "another shelf")
	other = slices.Clone(shares)
	other[2].Settings = "others"
	_, err = merge(other)
	assert.ErrorContains(t, err, "other flags")
	_, err = merge(nil)
	assert.Error(t, err)

	cores := runtime.GOMAXPROCS(1)
	one := report(t, s, asked)
	runtime.GOMAXPROCS(cores)
	assert.Equal(t, tell(whole), tell(one))
}

// list is a list as JSON can hold it.
func list(r *search.Report, l []search.Found) (all []string) {
	for i := range l {
		all = append(all, fmt.Sprint(l[i].Number, l[i].Price, l[i].Values, l[i].Faults, r.Misses(&l[i])))
	}
	return all
}

// Shares of any count are all numbers, each once.
func TestInterval(t *testing.T) {
	for _, combinations := range []int64{1, 5, 5760, 999_999_937, 1_000_000_000} {
		for _, of := range []int{1, 2, 3, 7, 64, 1000} {
			next := int64(1)
			for part := 1; part <= of; part++ {
				first, last := search.Interval(part, of, combinations)
				if last == 0 { // none
					assert.Equal(t, combinations+1, first)
					assert.Less(t, combinations, int64(of))
					continue
				}
				assert.Equal(t, next, first)
				assert.Equal(t, int64(math.Floor(float64(part-1)*float64(combinations)/float64(of)))+1, first)
				next = last + 1
			}
			assert.Equal(t, combinations+1, next)
		}
	}
}

// In single fire and in bursts the flights stand within the pull: such builds are looked at
// whole, beside others that are not.
func TestOtherModes(t *testing.T) {
	s := shelf(t, "{muzzle_velocity: {min: 100 m/s}}", slot("trigger", "{mode: automatic}", "{mode: single}", "{rounds: 3}"), slot("spring.rate", "680 N/m", "5000 N/m"))
	r := report(t, s, search.Asked{Top: 5, Near: 5, Broken: true})
	assert.EqualValues(t, 6, r.Fired+r.Stalled)
	assert.EqualValues(t, 3, r.Stalled)
	assert.EqualValues(t, 3, r.Met)
	assert.Equal(t, []string{"price", "trigger_delay", "current_rms"}, r.Asked.Front)
	assert.EqualValues(t, 1, r.LeftOut, "a single shot has no RMS current")
	d, err := buildfile.DemoDocument("trigger.mode=single")
	require.NoError(t, err)
	s.Base = d
	r, err = search.NewReport(s, search.Asked{})
	require.NoError(t, err)
	assert.Equal(t, "inrush", r.Asked.Front[2])
}

// With --quick the first miss is the last figure; what meets the wish is the same.
func TestQuick(t *testing.T) {
	s := wide(t)
	full := report(t, s, search.Asked{Top: 5, Near: 5, Broken: true})
	quick := report(t, s, search.Asked{Top: 5, Near: 5, Broken: true, Settings: search.Settings{Quick: true}})
	assert.Equal(t, full.Met, quick.Met)
	assert.Equal(t, full.Fired, quick.Fired)
	assert.Equal(t, numbers(full.Best), numbers(quick.Best))
	assert.Equal(t, numbers(full.OnFront), numbers(quick.OnFront))
	for i := range full.Tally.Wants {
		assert.LessOrEqual(t, quick.Tally.Wants[i].Below, full.Tally.Wants[i].Below)
	}
}

// Refusals of what a report is asked.
func TestReportRefuses(t *testing.T) {
	s := shelf(t, "", slot("gears.ratio", "10"))
	for _, c := range []struct {
		asked search.Asked
		says  string
	}{
		{search.Asked{By: "rate_of_fir"}, "rate_of_fire"},
		{search.Asked{By: "nonsense_at_all"}, "no figure"},
		{search.Asked{Show: []string{"x"}}, "x is no figure"},
		{search.Asked{Front: []string{"price"}}, "two to five"},
		{search.Asked{Front: []string{"price", "inrush", "period", "stroke", "trigger_delay", "piston_impact"}}, "two to five"},
		{search.Asked{Front: []string{"price", "price"}}, "twice"},
		{search.Asked{Settings: search.Settings{First: 3}}, "1 to 1"},
		{search.Asked{Settings: search.Settings{Cycle: cycle.Settings{Tolerance: 7}}}, "tolerance"},
	} {
		_, err := search.NewReport(s, c.asked)
		assert.ErrorContains(t, err, c.says)
	}
	for _, err := range search.Run(context.Background(), &buildfile.Shelf{}, search.Settings{}) {
		assert.ErrorContains(t, err, "base")
	}
}

// An interrupt ends a search with the context's error, whatever it is at.
func TestInterrupted(t *testing.T) {
	s := wide(t)
	for _, after := range []int{0, 1, 100, 500} {
		ctx, stop := context.WithCancel(context.Background())
		n := 0
		var last error
		for _, err := range search.Run(ctx, s, search.Settings{}) {
			if last = err; err != nil {
				break
			}
			if n++; n > after {
				stop()
			}
		}
		stop()
		assert.ErrorIs(t, last, context.Canceled)
	}
}

// The heap doesn't grow with the number of combinations.
func TestMemoryIsFlat(t *testing.T) {
	values := func(n int, lo, step float64, unit string) (all []string) {
		for i := range n {
			all = append(all, strings.TrimSpace(fmt.Sprintf("%.6g %s", lo+step*float64(i), unit)))
		}
		return all
	}
	pads := effort.Of(200)
	s := shelf(t, "{rate_of_fire: {min: 99 /s}}",
		slot("pads", values(pads, 1, 0.01, "mm")...), // which nothing feels
		slot("motor.armature.turns", values(20, 20, 1, "")...),
		slot("gears.ratio", values(25, 9, 0.1, "")...))
	for i := range s.Slots[0].Parts {
		p := &s.Slots[0].Parts[i]
		p.Value = "[" + p.Value + "]"
	}
	heap := func() uint64 { // the least of several looks: others go on allocating
		least := uint64(math.MaxUint64)
		for range 5 {
			runtime.GC()
			var m runtime.MemStats
			runtime.ReadMemStats(&m)
			least = min(least, m.HeapAlloc)
		}
		return least
	}
	r, err := search.NewReport(s, search.Asked{Top: 10, Near: 5, Cloud: true, Settings: search.Settings{Quick: true}})
	require.NoError(t, err)
	var early, late uint64
	require.NoError(t, r.Run(context.Background(), func(f *search.Found) error {
		switch f.Number {
		case int64(100 * pads):
			early = heap()
		case int64(475 * pads):
			late = heap()
		}
		return nil
	}))
	assert.EqualValues(t, 500*pads, r.Fired)
	assert.Less(t, float64(late), float64(early)+4e6, "%d bytes, then %d", early, late)
}

// The surest come by their chance, then by price and number; of as many of the best as are
// asked, each with the document of its parts.
func TestSurest(t *testing.T) {
	s := wide(t)
	s.Slots[3].Parts[1].Value = "680 N/m ± 4 %"
	asked := search.Asked{Top: 3, Sure: 12, Broken: true}
	r := report(t, s, asked)
	require.Greater(t, r.Met, int64(20))
	i, told := 0, 0
	require.NoError(t, r.BeSure(context.Background(), func(_ context.Context, d *buildfile.Document) (float64, float64, error) {
		i++
		if sd, ok := d.Tolerances["spring.rate"]; ok {
			assert.InDelta(t, 27.2, sd, 1e-9)
		}
		return float64(i%3) / 2, 0.01, nil
	}, func() { told++ }))
	assert.Equal(t, 12, told)
	require.Len(t, r.Surest, 12)
	assert.Len(t, r.Best, 3)
	for i := range r.Surest[1:] {
		a, b := &r.Surest[i], &r.Surest[i+1]
		assert.True(t, a.Share > b.Share || a.Share == b.Share && (a.Price < b.Price || a.Price == b.Price && a.Number < b.Number))
	}
	assert.ErrorContains(t, r.BeSure(context.Background(), func(context.Context, *buildfile.Document) (float64, float64, error) {
		return 0, 0, os.ErrInvalid
	}, nil), "combination")
	r, err := search.NewReport(s, search.Asked{Sure: 70})
	require.NoError(t, err)
	assert.ErrorContains(t, r.Merge(context.Background(), []search.Share{{Of: 1}}, ""), "the best 70")
}
