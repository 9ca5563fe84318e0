package study_test

import (
	"context"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/ampstroke/drivetrain/buildfile"
	"example.org/ampstroke/drivetrain/cycle"
	"example.org/ampstroke/drivetrain/study"
)

// looks counts how often a context is looked at, and ends it behind so many.
type looks struct {
	context.Context
	seen, most int
}

func (l *looks) Err() error {
	if l.seen++; l.seen > l.most {
		return context.Canceled
	}
	return nil
}

// The switches' single shots behind the builds' own end with the context as well.
func TestComparisonEndsWithTheContext(t *testing.T) {
	documents := []*buildfile.Document{read(t), read(t, "harness.switch.mosfet.resistance=5 mohm")}
	all := &looks{context.Background(), 0, 1 << 30}
	m, err := study.Compare(all, documents, cycle.Settings{})
	require.NoError(t, err)
	require.Len(t, m.Switches, 2)
	require.Greater(t, all.seen, 20)
	ends := 0
	for most := 0; most < all.seen; most += max(1, all.seen/40) {
		_, err := study.Compare(&looks{context.Background(), 0, most}, documents, cycle.Settings{})
		require.ErrorIs(t, err, context.Canceled, "after %d looks of %d", most, all.seen)
		ends++
	}
	assert.Greater(t, ends, 10)
}

// The first target judges; a build that asks for something else is known, and so is one of
// another mode of fire.
func TestComparison(t *testing.T) {
	documents := []*buildfile.Document{read(t, "target="), read(t), read(t, "target.rate_of_fire.min=23 /s", "motor.armature.turns=22"), read(t, "trigger.mode=single")}
	m, err := study.Compare(context.Background(), documents, cycle.Settings{})
	require.NoError(t, err)
	assert.Equal(t, 1, m.Judge)
	assert.Equal(t, documents[1].Target, m.Target)
	assert.Nil(t, m.Switches, "they are the same")
	assert.Equal(t, []bool{false, false, true, false}, []bool{m.Own(0), m.Own(1), m.Own(2), m.Own(3)})
	assert.True(t, m.Mixed() && m.Alike(2) && !m.Alike(3))
	better, missed := m.Mark("rate_of_fire", 2)
	assert.True(t, better && !missed)
	better, missed = m.Mark("colour", 2)
	assert.False(t, better || missed)
	assert.Equal(t, m.Looks[2].Findings.Broken(), m.Faults()[2])

	documents[2] = read(t, "spring.rate=0.001 N/m")
	documents[2].Build.Piston.Mass = -1
	_, err = study.Compare(context.Background(), documents, cycle.Settings{})
	of := new(study.OfBuild)
	require.ErrorAs(t, err, &of)
	assert.Equal(t, 2, of.Build)
	assert.ErrorContains(t, err, "build 3: ")
}
