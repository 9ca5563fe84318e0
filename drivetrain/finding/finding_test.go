package finding_test

import (
	"fmt"
	"testing"

	"github.com/stretchr/testify/assert"

	"example.org/ampstroke/drivetrain/finding"
)

func codes(l finding.List) (all []string) {
	for _, f := range l {
		all = append(all, f.Code)
	}
	return all
}

// The table of weights as other programs read it: what isn't in it is a caution.
func TestWeights(t *testing.T) {
	want := map[finding.Weight][]string{
		finding.Fault: {
			"stall", "no-start", "no-release", "second-shot", "premature-engagement", "piston-not-home", "pellet-stuck", "spring-solid",
			"fuse-rating", "pack-empty", "blocked", "land", "missed", "drive-lost", "caught", "tips-strike", "winding-limit", "fuse-nuisance",
		},
		finding.Caution: {
			"pickup-tooth", "release-tooth", "spring", "slot-fill", "pack-rating", "pack-inrush", "cut-off", "demagnetisation", "stall-fuse",
			"too-few-shots", "shallow-contact", "rack-corner", "sector-corner", "drive-slip", "engaged-angle", "motor-speed", "target", "",
		},
		finding.Unchecked: {"fill-unchecked", "pack-unchecked", "magnets-unchecked", "contact-unchecked", "port-unchecked", "connectors-unchecked", "fuse-unchecked"},
	}
	for weight, all := range want {
		for _, code := range all {
			assert.Equal(t, weight, finding.WeightOf(code), code)
			assert.Equal(t, weight, finding.New(code, nil, "x").Weight, code)
		}
	}
}

// Faults come first, each weight in the order of the rooms; a code that several rooms
// have is the first one's, or that of the room that gives it more weight.
func TestJoin(t *testing.T) {
	one := func(code, text string) finding.Finding { return finding.New(code, []string{"a.key"}, "%s", text) }
	for _, c := range []struct {
		name  string
		rooms [][]finding.Finding
		want  []string // codes
		texts []string
	}{
		{"nothing", nil, nil, nil},
		{"faults first", [][]finding.Finding{{one("fuse-unchecked", "1"), one("pack-inrush", "2")}, {one("stall", "3"), one("cut-off", "4")}},
			[]string{"stall", "pack-inrush", "cut-off", "fuse-unchecked"}, []string{"3", "2", "4", "1"}},
		{"the first room's", [][]finding.Finding{{one("stall", "1")}, {one("stall", "2")}}, []string{"stall"}, []string{"1"}},
		{"the heavier one's", [][]finding.Finding{{one("cut-off", "1")}, {one("cut-off", "2").As(finding.Fault)}}, []string{"cut-off"}, []string{"2"}},
		{"the heavier one's, whichever comes first", [][]finding.Finding{{one("cut-off", "1").As(finding.Fault)}, {one("cut-off", "2")}}, []string{"cut-off"}, []string{"1"}},
		{"twice in one room stays", [][]finding.Finding{{one("tips-strike", "1"), one("tips-strike", "2")}, {one("tips-strike", "3")}}, []string{"tips-strike", "tips-strike"}, []string{"1", "2"}},
	} {
		t.Run(c.name, func(t *testing.T) {
			all := finding.Join(c.rooms...)
			assert.Equal(t, c.want, codes(all))
			var texts []string
			for _, f := range all {
				texts = append(texts, f.Text)
			}
			assert.Equal(t, c.texts, texts)
		})
	}
}

func TestList(t *testing.T) {
	l := finding.Join([]finding.Finding{finding.New("pack-inrush", nil, "x"), finding.New("fuse-unchecked", nil, "y")})
	assert.False(t, l.Broken(), "cautions break nothing")
	assert.True(t, l.Has("pack-inrush"))
	assert.False(t, l.Has("stall"))
	assert.Equal(t, []string{"fuse-unchecked"}, codes(l.Of(finding.Unchecked)))
	assert.True(t, finding.Join(l, []finding.Finding{finding.New("stall", nil, "z")}).Broken())
}

func ExampleJoin() {
	cycle := []finding.Finding{finding.New("pack-inrush", []string{"battery.discharge_rating"}, "the inrush of %d A is above the rating", 75)}
	pickup := []finding.Finding{finding.New("blocked", []string{"rack.taken_down"}, "tooth 3 stands in the way")}
	for _, f := range finding.Join(cycle, pickup) {
		fmt.Printf("%s: %s [%s]\n", f.Weight, f.Text, f.Code)
	}
	// Output:
	// fault: tooth 3 stands in the way [blocked]
	// caution: the inrush of 75 A is above the rating [pack-inrush]
}
