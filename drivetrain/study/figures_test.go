package study_test

import (
	"fmt"
	"reflect"
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/ampstroke/drivetrain/buildfile"
	"example.org/ampstroke/drivetrain/cycle"
	"example.org/ampstroke/drivetrain/figure"
	"example.org/ampstroke/drivetrain/flight"
	"example.org/ampstroke/drivetrain/heat"
	"example.org/ampstroke/drivetrain/pickup"
	"example.org/ampstroke/drivetrain/quantity"
	"example.org/ampstroke/drivetrain/study"
	"example.org/ampstroke/motor"
)

// Names and keys are those of one figure each, labels and meanings are there, and units
// measure the kind.
func TestFiguresAreNamedOnce(t *testing.T) {
	names := map[string]bool{}
	for _, f := range study.Figures() {
		assert.False(t, names[f.Name], "%s is there twice", f.Name)
		names[f.Name] = true
		assert.Regexp(t, `^[a-z][a-z0-9_]*$`, f.Name)
		assert.NotEmpty(t, f.Label, f.Name)
		assert.NotEmpty(t, f.Meaning, f.Name)
		assert.NotEmpty(t, f.Group, f.Name)
		assert.NotContains(t, f.Meaning, "\n", f.Name)
		assert.Positive(t, f.Digits, f.Name)
		require.NotPanics(t, func() { f.Text(1.5) }, f.Name)
		assert.Equal(t, f.Unit == "", f.Kind == quantity.Number || f.Kind == quantity.Count, f.Name)
	}
	for room, list := range map[string][]string{
		"cycle": keys(cycle.Figures().Infos()), "motor": keys(motor.Figures().Infos()), "pickup": keys(pickup.Figures().Infos()), "heat": keys(heat.Figures().Infos()),
	} {
		slices.Sort(list)
		assert.Equal(t, slices.Compact(slices.Clone(list)), list, "keys of %s", room)
	}
}

// Each number of a result is a figure's, or said here not to be one.
func TestEveryNumberIsAFigure(t *testing.T) {
	supplied := motor.Supplied{}
	build := buildfile.Demo()
	state := pickup.State{Layout: &pickup.Layout{Build: build}, Cycle: &cycle.Result{Build: build}}
	warm := heat.Result{Build: build}
	for _, name := range heat.PartNames() {
		warm.Parts = append(warm.Parts, heat.Part{Name: name})
	}
	fired := cycle.Result{Build: build, Flight: &flight.Result{}, Pull: &cycle.Pull{}}
	for _, room := range []struct {
		name   string
		result any
		stages study.Stages
		none   string // what is no figure, as a regular expression of the field's path
	}{
		{"cycle", &fired, study.Stages{Cycle: &fired}, `^(Wires|Ledger|FirstLedger|Motor|Hunt|Stats)\.|` + // books, and those of other rooms
			`^PickupSpeed$|` + // pickup has that just before
			`^Summary\.(TimeToRest|StopAngle|Overspin)$|^Pull\.(Inrush|PackVoltageMin|Ledger\..*|After\..*)$|` + // of the pull; the summary has the pull's
			`^Flight\.`}, // the summary has them
		{"motor", &supplied, study.Stages{Motor: &supplied}, `^Characteristic\.(NoLoad\.(Torque|Input|Output|Efficiency)|(Best|Strongest)\.(Torque|Speed|Input|Output|Efficiency)|Stall\.(Speed|Torque|Input|Output|Efficiency))$|^Constants\.UnsaturatedFlux$`},
		{"pickup", &state, study.Stages{Pickup: &state}, `^Layout\.(Build|Contact\.|Contacts|HandOver)|^Cycle\.|^Build`},
		{"heat", &warm, study.Stages{Heat: &warm}, `^(Build|Plan|End|Course|Stats|Warnings)|^Balance\.Residual$`},
	} {
		none := regexp.MustCompile(room.none)
		list, used := study.All(), map[string]bool{}
		values := func() (all []float64) {
			for _, f := range list {
				all = append(all, f.Value(&room.stages))
			}
			return all
		}
		seen := 0
		numbers(reflect.ValueOf(room.result).Elem(), "", func(path string, v reflect.Value) {
			before := values()
			old := v.Float()
			v.SetFloat(old + 1.25)
			changed := false
			for i, after := range values() {
				if fmt.Sprint(after) != fmt.Sprint(before[i]) {
					changed = true
				}
			}
			v.SetFloat(old)
			seen++
			if none.MatchString(path) {
				used[none.FindString(path)] = true
				return
			}
			assert.True(t, changed, "%s: no figure is %s", room.name, path)
		})
		assert.Greater(t, seen, 10, room.name)
		assert.NotEmpty(t, used, room.name)
	}
}

func keys(infos []figure.Info) (all []string) {
	for _, f := range infos {
		all = append(all, f.Key())
	}
	return all
}

// numbers goes through all exported numbers of a value that can be set.
func numbers(v reflect.Value, path string, tell func(string, reflect.Value)) {
	switch v.Kind() {
	case reflect.Float64:
		if v.CanSet() {
			tell(strings.TrimPrefix(path, "."), v)
		}
	case reflect.Pointer:
		if !v.IsNil() && v.Type().Elem().Kind() == reflect.Struct && !strings.HasSuffix(path, "Build") && !strings.HasSuffix(path, "Cycle") {
			numbers(v.Elem(), path, tell)
		}
	case reflect.Struct:
		for i := range v.NumField() {
			f := v.Type().Field(i)
			if !f.IsExported() || f.Name == "Build" {
				continue
			}
			at := path + "." + f.Name
			if f.Anonymous && f.Name == "Strength" {
				at = path
			}
			numbers(v.Field(i), at, tell)
		}
	case reflect.Slice:
		for i := range v.Len() {
			numbers(v.Index(i), fmt.Sprintf("%s.%d", path, i), tell)
		}
	}
}
