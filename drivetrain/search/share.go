package search

import (
	"context"
	"fmt"
	"math/bits"
	"slices"
)

// Share is what a part of a search leaves for a merge: counts, and the numbers of what
// may come onto the lists. What becomes of a combination depends on its own parts alone,
// so that whoever merges finds the rest again.
type Share struct {
	// Part of Of equal runs of numbers, from 1.
	Part int `json:"part"`
	Of   int `json:"of"`
	// Shelf tells shelves apart, Settings what else has to be the same in all shares.
	Shelf    string `json:"shelf"`
	Settings string `json:"settings"`

	RuledOut   int64         `json:"ruled_out"`
	Unfinished int64         `json:"unfinished"`
	Stalled    int64         `json:"stalled"`
	Fired      int64         `json:"fired"`
	Met        int64         `json:"met"`
	Sound      int64         `json:"sound"`
	LeftOut    int64         `json:"left_out"`
	AtEdge     int64         `json:"at_edge"`
	Misfits    []Misfits     `json:"misfits"`
	Wants      []WantTally   `json:"wants"`
	Parts      [][]PartTally `json:"parts"`

	Best     []int64 `json:"best"`
	Cheapest []int64 `json:"cheapest"`
	Front    []int64 `json:"front"`
	Nearest  []int64 `json:"nearest"`
	// Points of the cloud.
	Cloud []int64 `json:"cloud"`
}

// Interval returns the numbers of one of several equal runs over so many combinations, as
// Settings take them.
func Interval(part, of int, combinations int64) (first, last int64) {
	at := func(i int) int64 {
		hi, lo := bits.Mul64(uint64(i), uint64(combinations))
		q, _ := bits.Div64(hi, lo, uint64(of))
		return int64(q)
	}
	if first, last = at(part-1)+1, at(part); first > last { // more parts than combinations
		return combinations + 1, 0
	}
	return first, last
}

// Share returns what a merge needs of a Report that has run over the numbers of a part.
func (r *Report) Share(part, of int, settings string) Share {
	s := Share{
		Part: part, Of: of, Shelf: r.Shelf.Digest, Settings: settings,
		RuledOut: r.RuledOut, Unfinished: r.Unfinished, Stalled: r.Stalled, Fired: r.Fired, Met: r.Met, Sound: r.Sound,
		LeftOut: r.front.LeftOut, AtEdge: r.AtEdge, Misfits: r.Misfits, Wants: r.Tally.Wants, Parts: r.Parts,
		Best: numbersOf(r.best.List()), Cheapest: numbersOf(r.cheapest.List()), Front: numbersOf(r.front.List()), Nearest: numbersOf(r.near.List()),
	}
	for _, c := range []*cloud{&r.soundCloud, &r.missCloud} {
		for _, p := range c.list() {
			s.Cloud = append(s.Cloud, p.Number)
		}
	}
	return s
}

func numbersOf(l []Found) []int64 {
	all := make([]int64, len(l))
	for i := range l {
		all[i] = l[i].Number
	}
	return all
}

// Merge puts the shares of a whole search together, in any order, as if the Report had
// run over all numbers. The error says which share is missing, there twice, or of
// another shelf or other settings.
func (r *Report) Merge(ctx context.Context, shares []Share, settings string) error {
	if len(shares) == 0 {
		return fmt.Errorf("no shares; wanted the files of all")
	}
	if most := max(r.Top, MostSure); r.Asked.Sure > most {
		return fmt.Errorf("the chances of the best %d, of which shares keep %d; wanted fewer, or shares with a longer list", r.Asked.Sure, most)
	}
	of := shares[0].Of
	have := map[int]bool{}
	for i := range shares {
		s := &shares[i]
		switch {
		case s.Shelf != r.Shelf.Digest:
			return fmt.Errorf("share %d of %d is of another shelf, or its files have changed since", s.Part, s.Of)
		case s.Settings != settings:
			return fmt.Errorf("share %d of %d was searched with other flags: wanted the same for all and here", s.Part, s.Of)
		case s.Of != of || s.Part < 1 || s.Part > of:
			return fmt.Errorf("share %d of %d among shares of %d", s.Part, s.Of, of)
		case have[s.Part]:
			return fmt.Errorf("share %d of %d is there twice", s.Part, s.Of)
		case len(s.Wants) != len(r.Wants) || !slices.EqualFunc(s.Parts, r.Parts, func(a, b []PartTally) bool { return len(a) == len(b) }):
			return fmt.Errorf("share %d of %d doesn't belong to this shelf", s.Part, s.Of)
		}
		have[s.Part] = true
	}
	for part := 1; part <= of; part++ {
		if !have[part] {
			return fmt.Errorf("share %d of %d is missing", part, of)
		}
	}
	r.start()
	r.RuledOut = 0
	listed, cloudy := map[int64]bool{}, map[int64]bool{}
	for i := range shares {
		r.take(&shares[i])
		for _, l := range [][]int64{shares[i].Best, shares[i].Cheapest, shares[i].Front, shares[i].Nearest} {
			for _, n := range l {
				listed[n] = true
			}
		}
		for _, n := range shares[i].Cloud {
			cloudy[n] = true
		}
	}
	if r.Cloud {
		for n := range cloudy {
			listed[n] = true
		}
	}
	return r.relist(ctx, listed, cloudy)
}

// take adds the counts of a share.
func (r *Report) take(s *Share) {
	r.RuledOut += s.RuledOut
	r.Unfinished += s.Unfinished
	r.Stalled += s.Stalled
	r.Fired += s.Fired
	r.Met += s.Met
	r.Sound += s.Sound
	r.LeftOut += s.LeftOut
	r.AtEdge += s.AtEdge
	for _, m := range s.Misfits {
		i := slices.IndexFunc(r.Misfits, func(o Misfits) bool { return o.Key == m.Key })
		if i < 0 {
			r.Misfits = append(r.Misfits, m)
			continue
		}
		o := &r.Misfits[i]
		o.Combinations += m.Combinations
		if m.First < o.First {
			o.First, o.Text = m.First, m.Text
		}
	}
	for i, w := range s.Wants {
		t := &r.Tally.Wants[i]
		t.Below += w.Below
		t.Above += w.Above
		t.AloneBelow += w.AloneBelow
		t.AloneAbove += w.AloneAbove
	}
	for i := range s.Parts {
		for k, p := range s.Parts[i] {
			t := &r.Parts[i][k]
			t.Fired += p.Fired
			t.Met += p.Met
			t.Sound += p.Sound
			if p.Cheapest >= 0 && (t.Cheapest < 0 || p.Cheapest < t.Cheapest) {
				t.Cheapest = p.Cheapest
			}
		}
	}
}

// relist looks again at what may come onto the lists. Those of the cloud alone are let
// onto no other list: what they lack there another share's have.
func (r *Report) relist(ctx context.Context, candidates, cloudy map[int64]bool) error {
	var all []int64
	for n := range candidates {
		if n < 1 || n > r.works.numbers.count {
			return fmt.Errorf("combination %d of %d in a share", n, r.works.numbers.count)
		}
		all = append(all, n)
	}
	slices.Sort(all)
	var err error
	r.works.each(ctx, listed(all, false), func(f Found, e error) bool {
		if err = e; err == nil && f.Fate == Fired {
			cloud := r.Cloud
			r.Cloud = cloud && cloudy[f.Number]
			r.list(&f)
			r.Cloud = cloud
		}
		return err == nil
	})
	r.front.LeftOut = 0 // counted by the shares
	return err
}
