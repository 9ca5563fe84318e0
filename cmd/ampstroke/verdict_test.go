package main

import (
	"encoding/json"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/ampstroke/drivetrain/finding"
)

type shownFinding struct {
	Code, Weight, Text string
	Keys               []string
}

// found lists the findings that a command gives of a build.
func found(t *testing.T, args ...string) (all []shownFinding) {
	o := command(t, append(args, "--json")...)
	require.Zero(t, o.code, "%v: %s", args, o.stderr)
	var document struct {
		Findings []shownFinding
		Builds   []struct{ Findings []shownFinding }
	}
	require.NoError(t, json.Unmarshal([]byte(o.stdout), &document))
	if document.Builds != nil {
		return document.Builds[0].Findings
	}
	return document.Findings
}

// troubled is a build by what is changed about the demo, and a finding it is here for.
type troubled struct {
	code string
	set  []string
}

// builds of all kinds of trouble, and of none.
func troubledBuilds() map[string]troubled {
	return map[string]troubled{
		"demo":                  {"pack-inrush", nil},
		"three cells":           {"premature-engagement", []string{"battery.series=3"}},
		"stall":                 {"stall", []string{"spring.rate=4000 N/m"}},
		"single":                {"target", []string{"trigger.mode=single"}},
		"single, overruns":      {"second-shot", []string{"trigger.mode=single", "battery.series=3", "motor.armature.inertia=200 g cm2"}},
		"a burst":               {"premature-engagement", []string{"trigger.rounds=4", "battery.series=3"}},
		"jams":                  {"blocked", []string{"rack.taken_down="}},
		"tip on tip":            {"land", []string{"rack.taken_down=", "rack.pickup_offset=7.6 mm"}},
		"drive lost":            {"drive-lost", []string{"rack.pickup_offset=0 mm", "rack.taken_down=[{tooth: 2, depth: 2.25 mm}, {tooth: 3, depth: 2.25 mm}, {tooth: 4, depth: 2.25 mm}, {tooth: 5, depth: 2.25 mm}]"}},
		"a stroke of its own":   {"engaged-angle", []string{"sector.engaged_angle=240 deg"}},
		"nothing is known":      {"fuse-unchecked", []string{"battery.discharge_rating=", "harness.fuse=", "harness.connectors=", "motor.armature.slot_area=", "motor.stator.magnet.coercivity=", "cylinder.port="}},
		"a target that is not":  {"muzzle-energy", []string{"target.rate_of_fire.min=30 /s", "target.muzzle_energy.max=1.2 J"}},
		"magnets too weak":      {"demagnetisation", []string{"motor.stator.magnet.coercivity=400 kA/m"}},
		"a stuck pellet, slows": {"pellet-stuck", stuck()},
	}
}

// Every finding that any command has of a build, all have, to the letter; heat adds
// those of its plan.
func TestEveryCommandSaysTheSame(t *testing.T) {
	for name, build := range troubledBuilds() {
		t.Run(name, func(t *testing.T) {
			var set []string
			for _, o := range build.set {
				set = append(set, "--set", o)
			}
			text := file(t, demoText())
			cycle := found(t, append([]string{"cycle", text}, set...)...)
			assert.True(t, slices.ContainsFunc(cycle, func(f shownFinding) bool { return f.Code == build.code }), "it shows no %s any more", build.code)
			assert.Equal(t, cycle, found(t, append([]string{"pickup", text}, set...)...), "pickup")
			assert.Equal(t, cycle, found(t, append([]string{"compare", text, text}, set...)...), "compare")
			motor := found(t, append([]string{"motor", text}, set...)...)
			for _, f := range motor {
				assert.Contains(t, cycle, f, "motor")
			}
			heated := found(t, append([]string{"heat", text}, set...)...)
			for _, f := range cycle {
				if !slices.ContainsFunc(heated, func(h shownFinding) bool { return h.Code == f.Code && h.Weight == "fault" }) {
					assert.Contains(t, heated, f, "heat")
				}
			}
			for _, f := range heated {
				plan := strings.HasSuffix(f.Code, "-limit") || slices.Contains([]string{"contact-melting", "standing-arc", "pack-rating", "demagnetisation", "fuse-nuisance", "stall", "cut-off", "pack-empty", "fuse-near", "rounds", "stall-fuse"}, f.Code)
				assert.True(t, plan || slices.ContainsFunc(cycle, func(c shownFinding) bool { return c.Code == f.Code }), "heat alone has %s", f.Code)
			}
			lines := map[string]string{
				"cycle": command(t, append([]string{"cycle", text}, set...)...).stdout, "pickup": command(t, append([]string{"pickup", text}, set...)...).stdout,
				"heat": command(t, append([]string{"heat", text}, set...)...).stdout, "compare": command(t, append([]string{"compare", text, text}, set...)...).stdout,
			}
			for what, shown := range lines {
				shown = strings.Join(strings.Fields(shown), " ")
				for _, f := range cycle {
					if f.Weight == string(finding.Unchecked) {
						assert.Contains(t, shown, "not checked: "+f.Text[:20], "%s: %s", what, f.Code)
					} else if f.Code != "target" && what != "heat" && what != "compare" { // heat may have made more of it; compare's lines begin with the build
						assert.Contains(t, shown, "["+f.Code+"]", what)
					}
				}
			}
		})
	}
}

// The verdict stands on standard output, ahead of the figures; standard error is for
// files.
func TestVerdictComesFirst(t *testing.T) {
	for _, args := range [][]string{{"cycle"}, {"heat"}, {"pickup"}} {
		o := command(t, append(args, "--set", "battery.series=3")...)
		assert.Empty(t, o.stderr, args)
		lines := strings.Split(o.stdout, "\n")
		assert.Empty(t, lines[1])
		assert.True(t, strings.HasPrefix(lines[2], "target "), "%v: %s", args, lines[2])
		fault := slices.IndexFunc(lines, func(l string) bool { return strings.HasPrefix(l, "FAULT: the piston is home") })
		caution := slices.IndexFunc(lines, func(l string) bool { return strings.HasPrefix(l, "caution: ") })
		assert.Positive(t, fault, args)
		assert.Less(t, fault, caution, args)
		assert.Contains(t, o.stdout, "[premature-engagement]", args)
	}
	missed := command(t, "cycle", "--set", "target.rate_of_fire.min=30 /s")
	assert.Regexp(t, `(?s)\n\ntarget MISSED: rate of fire, \d+\.\d+ /s is \d+\.\d+ /s below the wanted 30 /s; met:\s+muzzle`, missed.stdout)
	none := command(t, "cycle", "--set", "target=")
	assert.Contains(t, none.stdout, "\nno target: the build file asks for no figure\n")
}

// --strict fails on faults and missed wants, and on nothing else.
func TestStrictFailsOnFaultsAndMissedWants(t *testing.T) {
	for _, args := range [][]string{{"cycle"}, {"heat"}, {"pickup"}} {
		run := func(overrides ...string) int {
			a := append(slices.Clone(args), "--strict")
			for _, o := range overrides {
				a = append(a, "--set", o)
			}
			return command(t, a...).code
		}
		assert.Zero(t, run(), "%v: cautions alone", args)
		assert.Equal(t, missed, run("rack.taken_down="), "%v: the gun jams", args)
		assert.Equal(t, missed, run("target.rate_of_fire.min=30 /s"), "%v: a missed want", args)
	}
}

// A build with a fault carries a mark wherever compare names it, so that it is never
// the better one without it.
func TestCompareMarksFaults(t *testing.T) {
	text := file(t, demoText())
	quick := file(t, demoWith(t, "battery.series=3"))
	o := command(t, "compare", text, quick)
	require.Zero(t, o.code)
	assert.Contains(t, o.stdout, "\n  1  Woodland")
	assert.Contains(t, o.stdout, "\n  2!  Woodland")
	assert.Regexp(t, `\n  2!  FAULT: the piston is home`, o.stdout)
	for _, line := range strings.Split(o.stdout, "\n") {
		if strings.HasPrefix(line, "      ") && strings.Contains(line, " 1 ") {
			assert.Contains(t, line, "2!", "the heads of every table")
		}
	}
	assert.Equal(t, missed, command(t, "compare", text, quick, "--strict").code)
	assert.Contains(t, o.stdout, "! behind a build's number: it has a fault")
	var j struct{ Faults []bool }
	require.NoError(t, json.Unmarshal([]byte(command(t, "compare", text, quick, "--json").stdout), &j))
	assert.Equal(t, []bool{false, true}, j.Faults)
	wrong := command(t, "compare", text, quick, "--set", "spring.rate=1 m")
	assert.Equal(t, badInput, wrong.code)
	assert.Equal(t, 1, strings.Count(wrong.stderr, "spring.rate=1 m"), wrong.stderr)
	aimless := file(t, demoWith(t, "target=", "battery.series=3"))
	bare := command(t, "compare", aimless, aimless)
	assert.Contains(t, bare.stdout, "! behind a build's number: it has a fault", "also where there is no target")
	assert.NotContains(t, bare.stdout, "better by that target")
}

// joined is a text without its line breaks.
func joined(text string) string { return strings.Join(strings.Fields(text), " ") }

// A want that single fire can't have isn't judged, whatever else is wrong with the
// build; one that a fault keeps it from is missed. Line, table and finding agree.
func TestWantsThatSingleFireHasNot(t *testing.T) {
	sets := func(overrides ...string) (args []string) {
		for _, o := range overrides {
			args = append(args, "--set", o)
		}
		return args
	}
	wants := []string{"trigger.mode=single", "target.pme_margin.min=0.5 ms"}
	sound := command(t, append([]string{"cycle", "--strict"}, sets(wants...)...)...)
	assert.Zero(t, sound.code, "what isn't judged isn't missed")
	assert.Regexp(t, ` target met: muzzle velocity [^;]+; single fire has no rate of fire, no pme margin caution: `, joined(sound.stdout))
	assert.Regexp(t, ` rate_of_fire none +at least 20 /s: single fire has no such figure `, joined(sound.stdout))

	twice := command(t, append([]string{"cycle"}, sets(append(wants, "battery.series=3", "motor.armature.inertia=200 g cm2")...)...)...)
	assert.Contains(t, twice.stdout, "[second-shot]")
	assert.Contains(t, twice.stdout, "\n\ntarget met: muzzle velocity")

	for _, f := range found(t, append([]string{"cycle"}, sets(wants...)...)...) {
		if f.Code == "target" {
			assert.Contains(t, f.Text, "isn't judged")
			assert.Contains(t, f.Keys, "trigger.mode")
		}
	}
	stuck := command(t, append([]string{"cycle"}, sets("trigger.mode=single", "pellet.hop_force=200 N")...)...)
	assert.Contains(t, joined(stuck.stdout), " target MISSED: muzzle velocity, which this build doesn't come to; single fire has no rate of fire FAULT: ")
	assert.Regexp(t, `muzzle_velocity none +117\.3 m/s .*: MISSED, the build doesn't come to it`, joined(stuck.stdout))
}

// In compare a build is held against the common target and against its own, so that
// no build is said to meet "the target" beside a finding that says it doesn't.
func TestCompareKnowsTheTargetOfEachBuild(t *testing.T) {
	text := file(t, demoText())
	capped := file(t, demoWith(t, "target.muzzle_energy.max=1.3 J"))
	o := command(t, "compare", text, capped)
	assert.Contains(t, o.stdout, "\n  2  target met: rate of fire")
	assert.Contains(t, o.stdout, "\n  2  its own target MISSED: muzzle energy, 1.434 J is")
	assert.NotContains(t, o.stdout, "\n  1  its own")
	assert.Equal(t, missed, command(t, "compare", text, capped, "--strict").code)
	assert.NotContains(t, command(t, "compare", text, text).stdout, "its own")
}

// What a full pack gives counts the pellets that leave, and adds up as it is shown.
func TestChargeCountsPellets(t *testing.T) {
	for _, c := range []struct {
		name      string
		overrides []string
		want      string
	}{
		{"four of one pull", []string{"battery.series=3", "motor.armature.inertia=200 g cm2", "trigger.mode=single"}, `pulls that fire 4 each, so (\d+) pellets`},
		{"a stuck pellet", []string{"pellet.hop_force=200 N"}, `in automatic +\d+ +cycles, the trigger held, but no pellet leaves\n +in single +\d+ +pulls, but no pellet leaves\n`},
		{"no single shot", []string{"sector.lobes=2", "sector.teeth=9", "rack.teeth=9"}, `in single +- +the cut-off lies behind the end of the lobe`},
		{"nothing is fired", []string{"trigger.cutoff=60 deg"}, `in single +\d+ +pulls that fire nothing\n`},
	} {
		t.Run(c.name, func(t *testing.T) {
			args := []string{"cycle"}
			for _, o := range c.overrides {
				args = append(args, "--set", o)
			}
			assert.Regexp(t, c.want, command(t, args...).stdout)
		})
	}
	o := command(t, "cycle", "--set", "battery.series=3", "--set", "motor.armature.inertia=200 g cm2")
	m := regexp.MustCompile(`in single +(\d+) +pulls that fire 4 each, so (\d+) pellets`).FindStringSubmatch(o.stdout)
	require.NotNil(t, m)
	pulls, err := strconv.Atoi(m[1])
	require.NoError(t, err)
	assert.Equal(t, strconv.Itoa(4*pulls), m[2])
	assert.NotContains(t, command(t, "cycle", "--set", "spring.rate=4000 N/m").stdout, "what a full pack gives", "of a motor that stalls")

	var j struct {
		Charge map[string]float64
	}
	require.NoError(t, json.Unmarshal([]byte(command(t, "cycle", "--json", "--set", "pellet.hop_force=200 N").stdout), &j))
	assert.Positive(t, j.Charge["pulls_single"])
	assert.Zero(t, j.Charge["pellets_single"])
}

// No line of findings is about what the build has not: teeth that no rack has, an
// internal word, a burst that the fuse stands by heat's own law.
func TestFindingsSpeakOfTheBuild(t *testing.T) {
	said := func(overrides ...string) string {
		args := []string{"cycle"}
		for _, o := range overrides {
			args = append(args, "--set", o)
		}
		return joined(command(t, args...).stdout)
	}
	far := said("battery.series=4", "motor.armature.turns=9", "motor.armature.wire=0.9 mm")
	assert.Regexp(t, `the sector would find none of the rack's 16 teeth, since it is still [\d.]+ mm from home \(1\d\d % of the stroke\)`, far)
	assert.NotContains(t, far, "about tooth")
	assert.Regexp(t, `RMS\) is above the fuse's 25.0 A: it will blow in a long burst`, far)
	assert.Regexp(t, `RMS\) is above the fuse's 15.0 A: it will age, and blow sooner or later`, said("harness.fuse.rating=15 A"))
	assert.NotContains(t, said("spring.rate=40 N/m", "piston.drag=30 N"), "piston-held")
	assert.Contains(t, said("pellet.hop_force=200 N"), "while it still runs away from the sector")

	assert.Contains(t, said("rack.pickup_offset="), "a flush contact is assumed")
	measured := said("rack.pickup_offset=", "sector.engaged_angle=240 deg")
	assert.Contains(t, measured, "rack.pickup_offset is missing; the stroke is that of sector.engaged_angle")
	assert.NotContains(t, measured, "flush")
}
