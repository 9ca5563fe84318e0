package main

import (
	"context"
	"encoding/csv"
	"encoding/json"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/ampstroke/drivetrain"
	"example.org/ampstroke/drivetrain/buildfile"
	"example.org/ampstroke/drivetrain/pickup"
)

// The text's figures are those of testdata/reference/full/pickup-demo.json.
func TestPickupText(t *testing.T) {
	o := command(t, "pickup")
	assert.Zero(t, o.code)
	for _, text := range []string{
		"Woodland club rifle: the sector meets the pickup tooth 11.6° ahead of square", "as it stands", "after",
		"safeties compare builds, they promise nothing", "1. Take the pack out before the shell is opened", "eye",
		"2. Put in the pads of 2 mm and 0.5 mm, 2.5 mm in all", "Flush asks for 2.60 mm", "3. Take rack tooth 3 (the pickup tooth is 1) down by 1.38 mm",
		"4. Check again", "ASTM F2879", "these", "no real gun was measured",
	} {
		assert.Contains(t, strings.ToLower(unbroken(o.stdout)), strings.ToLower(text))
	}
	for _, line := range []string{
		`contact angle +11\.6 ° +0\.4 °`, `depth of contact +16\.4 % +96\.8 %`, `stroke +53\.15 mm +50\.65 mm`, `preload +45\.00 mm +47\.50 mm`,
		`muzzle velocity +119\.7 m/s +118\.3 m/s`, `pickup tooth, safety +0\.835 +1\.57`, `release tooth, safety +4\.19 +4\.19`, `drive +held to the end`,
	} {
		assert.Regexp(t, line, o.stdout)
	}
	assert.Contains(t, o.stdout, "\ncaution: the contact is shallow, 16 % of full depth")
	assert.Regexp(t, `\ncaution: the pickup tooth (?s:.*?)\s\[pickup-tooth\]`, o.stdout)
	assert.Empty(t, o.stderr, "findings are part of the result")
	for _, word := range []string{"NaN", "Inf", "null", "is safe"} {
		assert.NotContains(t, o.stdout+o.stderr, word)
	}
	corner := command(t, "pickup", "--set", "rack.taken_down=", "--set", "rack.pickup_offset=5.5 mm")
	for _, line := range strings.Split(o.stdout+o.stderr+corner.stdout+corner.stderr, "\n") {
		assert.LessOrEqual(t, len([]rune(line)), 100, line)
	}
}

func TestPickupAdvice(t *testing.T) {
	for _, c := range []struct {
		name string
		set  []string
		want []string
	}{
		{"two teeth", []string{"rack.taken_down=", "pads=", "rack.pickup_offset=3 mm"}, []string{"2. No pads are in stock: cut a spacer of 3.00 mm and put it in,", "3. Take rack tooth 2", "4. Take rack tooth 3", "in the way          2"}},
		{"already down a little", []string{"rack.taken_down=[{tooth: 2, depth: 2.25 mm}, {tooth: 3, depth: 1 mm}]"}, []string{"1.38 mm from its original tip, 0.38 mm more than it is"}},
		{"flush", []string{"rack.pickup_offset=0 mm", "rack.taken_down=[{tooth: 2, depth: 2.25 mm}, {tooth: 3, depth: 1.6 mm}]"}, []string{"Nothing is to be done", "pickup tooth square"}},
		{"no pad so thin", []string{"rack.pickup_offset=0.3 mm", "rack.taken_down=[{tooth: 2, depth: 2.25 mm}, {tooth: 3, depth: 1.6 mm}]"}, []string{"no pad in stock is so thin"}},
		{"late", []string{"rack.pickup_offset=1 mm", "piston.spacer=2 mm"}, []string{"° late", "late by 1.00 mm, and a spacer of 2.00 mm is in: take that out first"}},
		{"no pads, and a spacer in", []string{"pads=", "piston.spacer=0.301 mm"}, []string{"cut a spacer of 2.30 mm and put it in"}},
		{"late, and nothing to take out", []string{"rack.pickup_offset=-4 mm"}, []string{"no spacer is in that could come out; measure again", "late by 4.00 mm, and no spacer is in that could come out: nothing that is put in helps"}},
		{"the work would lose the drive", []string{"rack.taken_down=[{tooth: 2, depth: 2.25 mm}, {tooth: 4, depth: 2.25 mm}, {tooth: 5, depth: 2.25 mm}, {tooth: 6, depth: 2.25 mm}]"}, []string{
			"2. Change nothing yet: with the work below done, tooth 3 lets the rack go and no later one has it", "the pull will not be sound"}},
		{"lost, and nothing to do", []string{"rack.pickup_offset=0 mm", "rack.taken_down=[{tooth: 2, depth: 2.25 mm}, {tooth: 3, depth: 2.25 mm}, {tooth: 4, depth: 2.25 mm}, {tooth: 5, depth: 2.25 mm}, {tooth: 6, depth: 2.25 mm}]"}, []string{
			"No pad and no file mends this rack: tooth 1 lets the rack go and no later one has it"}},
		{"caught", []string{"sector.teeth=22", "rack.teeth=22"}, []string{"Change nothing yet: with the work below done, the sector's next first tooth comes among the rack's"}},
		{"tip on tip, no pad so thin", []string{"rack.pickup_offset=7.6 mm", "rack.taken_down=", "pads=[50 mm]"}, []string{"The gun jams, tip on tip. Flush would take a spacer of 7.60 mm, but no pad in stock is so thin: cut one. cautions"}},
		{"stall", []string{"spring.rate=4000 N/m"}, []string{"pickup tooth ahead", "release tooth, safety"}},
	} {
		t.Run(c.name, func(t *testing.T) {
			args := []string{"pickup"}
			for _, s := range c.set {
				args = append(args, "--set", s)
			}
			o := command(t, args...)
			assert.Zero(t, o.code, o.stderr)
			for _, text := range c.want {
				assert.Contains(t, strings.Join(strings.Fields(o.stdout), " "), strings.Join(strings.Fields(text), " "))
			}
			assert.NotContains(t, o.stdout, "NaN")
		})
	}
}

// The keys of the interface; the build as it stands has them at the top, the build
// after the work below "after".
func TestPickupJSON(t *testing.T) {
	o := command(t, "pickup", "--json")
	require.Zero(t, o.code)
	var all map[string]any
	require.NoError(t, json.Unmarshal([]byte(o.stdout), &all))
	state := []string{
		"contact_angle_rad", "depth_of_contact", "pickup_force_n", "release_force_n", "pickup_tooth_safety", "release_tooth_safety",
		"spring_shear_stress_pa", "spring_safety", "contact", "first_tooth", "blocked_by", "sector_angle_rad", "contact_point_m", "offset_m",
		"pickup_speed_m_s", "pickup_energy_j", "stiffness_n_m", "pickup_stress_pa", "release_stress_pa", "geometric_stroke_m", "engaged_angle_rad",
		"sector_engaged_angle_rad", "drive_slip_m", "drive_lost", "spacer_limit_m", "muzzle_velocity_m_s", "rate_of_fire_hz",
	}
	after := all["after"].(map[string]any)
	for _, key := range state {
		assert.Contains(t, all, key)
		assert.Contains(t, after, key)
	}
	for _, key := range []string{"build", "spacer_m", "stack_m", "teeth_to_take_down"} {
		assert.Contains(t, all, key)
	}
	assert.Equal(t, []any{0.002, 0.0005}, all["stack_m"])
	assert.Equal(t, o.stdout, command(t, "pickup", "--json").stdout, "same input, same bytes")

	assert.Greater(t, sameAs(t, "full/pickup-demo.json", all), 50)
	assert.Greater(t, sameAs(t, "pickup-demo.json", figuresOf(t, "pickup", "../../testdata/builds/demo.yaml")), 50, "with the plain physics")

	stall := command(t, "pickup", "--json", "--set", "spring.rate=4000 N/m")
	assert.Zero(t, stall.code)
	for _, key := range []string{"pickup_speed_m_s", "pickup_energy_j", "pickup_force_n", "pickup_stress_pa", "pickup_tooth_safety", "muzzle_velocity_m_s"} {
		assert.Contains(t, stall.stdout, `"`+key+`": null`)
	}
	assert.NotContains(t, stall.stdout, `"release_force_n": null`)
}

func TestPickupStrict(t *testing.T) {
	whole := []string{"--set", "rack.material=steel", "--set", "rack.pickup_offset=0 mm", "--set", "target="}
	down := "rack.taken_down=[{tooth: 2, depth: 2.25 mm}, {tooth: 3, depth: 1.6 mm}]"
	for _, c := range []struct {
		name string
		args []string
		code int
	}{
		{"a safety below 1 is a caution", nil, 0},
		{"the target is missed, by a shorter stroke", []string{"--set", "rack.pickup_offset=0 mm", "--set", "rack.material=steel", "--set", down}, 1},
		{"all in order", append([]string{"--set", down}, whole...), 0},
		{"a tooth blocks", append([]string{"--set", "rack.taken_down="}, whole...), 1},
		{"the rack is caught", append([]string{"--set", "sector.teeth=22", "--set", "rack.teeth=22", "--set", down}, whole...), 1},
		{"the drive is lost", append([]string{"--set", "rack.taken_down=[{tooth: 2, depth: 2.25 mm}, {tooth: 3, depth: 2.25 mm}, {tooth: 4, depth: 2.25 mm}, {tooth: 5, depth: 2.25 mm}, {tooth: 6, depth: 2.25 mm}]"}, whole...), 1},
	} {
		t.Run(c.name, func(t *testing.T) {
			o := command(t, append([]string{"pickup", "--strict"}, c.args...)...)
			assert.Equal(t, c.code, o.code, o.stderr)
			assert.Contains(t, o.stdout, "in the order of the hands", "the figures are shown all the same")
		})
	}
}

// The build after the work reads back as the plan says, in a file whose other lines
// are as they were, and compare takes both.
func TestPickupAfter(t *testing.T) {
	dir := t.TempDir()
	before := file(t, demoText())
	after := filepath.Join(dir, "after.yaml")
	o := command(t, "pickup", before, "--after", after, "--json")
	require.Zero(t, o.code, o.stderr)
	assert.True(t, json.Valid([]byte(o.stdout)))
	assert.Contains(t, o.stderr, "wrote "+after)
	assert.Contains(t, command(t, "pickup", before, "--after", after).stderr, "replaced "+after)

	text, err := os.ReadFile(after)
	require.NoError(t, err)
	// The head says what was done; of the other lines those alone change that it is about.
	notes, changed := 0, 0
	old := strings.Split(demoText(), "\n")
	for i, line := range strings.Split(string(text), "\n") {
		if i == notes && line != old[0] {
			assert.True(t, strings.HasPrefix(line, "# "), line)
			assert.LessOrEqual(t, len([]rune(line)), 80)
			notes++
		} else if line != old[i-notes] {
			changed++
		}
	}
	assert.Equal(t, 3, changed, "rack, pads and piston")
	assert.Contains(t, strings.ReplaceAll(string(text), "\n# ", " "), "# After the work at the pickup: pads of 0.5 mm and 2 mm put in, so that the spacer is 2.5 mm in all; rack tooth 3 taken down by 1.38 mm from its original tip.")
	a, err := buildfile.Load(after)
	require.NoError(t, err)
	p, err := pickup.Examine(buildfile.Demo())
	require.NoError(t, err)
	assert.Equal(t, p.Then.Build.Piston, a.Piston)
	assert.Equal(t, []drivetrain.TakenDown{{Tooth: 2, Depth: 2.25e-3}, {Tooth: 3, Depth: 1.38e-3}}, a.Rack.TakenDown, "as the hands were told, to a hundredth of a millimetre")
	assert.Equal(t, p.Then.Build.Sector, a.Sector, "the engaged angle as the file had it")
	assert.Equal(t, p.Left(), a.Pads)
	again, err := pickup.Examine(a)
	require.NoError(t, err)
	assert.Empty(t, again.Pads)
	assert.Empty(t, again.TakeDown, "the work is done")
	assert.InDelta(t, p.Then.Stroke, again.Now.Stroke, 1e-15)

	both := command(t, "compare", before, after)
	assert.Zero(t, both.code)
	assert.Regexp(t, `piston\.spacer +0 mm +2\.5 mm`, both.stdout)
	assert.Regexp(t, `muzzle velocity +119\.7 m/s +118\.3 m/s \(-1\.2 %\)`, both.stdout)

	exact := command(t, "pickup", "--set", "pads=", "--after", filepath.Join(dir, "exact.yaml"))
	require.Zero(t, exact.code, exact.stderr)
	a, err = buildfile.Load(filepath.Join(dir, "exact.yaml"))
	require.NoError(t, err)
	assert.InDelta(t, 2.6e-3, a.Piston.Spacer, 1e-15)
	kept := filepath.Join(dir, "kept.yaml")
	o = command(t, "pickup", "--after", kept, "--set", "pads=[0.5 mm ± 0.04 mm, 1.0 mm ± 0.02 mm, 2.0 mm ± 1.5 %]", "--set", "piston.spacer=0 mm ± 0.12 mm", "--set", "rack.taken_down=[{tooth: 2, depth: 2.0 mm ± 0.1 mm}]")
	require.Zero(t, o.code, o.stderr)
	d, err := buildfile.Read(kept)
	require.NoError(t, err)
	assert.InDelta(t, 0.13e-3, d.Tolerances["piston.spacer"], 1e-9, "the root of 0.12², 0.04² and 0.03² mm²")
	assert.InDelta(t, 0.02e-3, d.Tolerances["pads.0"], 1e-12, "the pad that stays")
	assert.InDelta(t, 0.1e-3, d.Tolerances["rack.taken_down.0.depth"], 1e-12)
	assert.InDelta(t, 2.19e-3, d.Build.Rack.TakenDown[0].Depth, 1e-12, "2.187 mm at least")
	all := command(t, "pickup", "--set", "pads=[2 mm]", "--after", filepath.Join(dir, "all.yaml"))
	require.Zero(t, all.code, "the stock is used up: %s", all.stderr)

	assert.Contains(t, command(t, "pickup", before, "--after", before).stderr, "the build is read from the same file; wanted another one")
	assert.Contains(t, command(t, "pickup", "--after", filepath.Join(dir, "x.txt")).stderr, "ends in .yaml")
	assert.Equal(t, badInput, command(t, "pickup", "--after", filepath.Join(dir, "no", "x.yaml")).code)
}

func TestPickupFiles(t *testing.T) {
	dir := t.TempDir()
	for _, name := range []string{"p.svg", "p.png", "p.pdf"} {
		o := command(t, "pickup", "--plot", filepath.Join(dir, name), "--trace", filepath.Join(dir, "p.csv"))
		require.Zero(t, o.code, o.stderr)
		assert.Contains(t, o.stderr, name)
	}
	f, err := os.Open(filepath.Join(dir, "p.csv"))
	require.NoError(t, err)
	defer f.Close()
	rows, err := csv.NewReader(f).ReadAll()
	require.NoError(t, err)
	assert.Equal(t, []string{"state", "sector_angle_rad", "rack_travel_m", "tooth", "contact", "contact_x_m", "contact_y_m"}, rows[0])
	assert.Greater(t, len(rows), 2000)
	assert.Equal(t, "as it stands", rows[1][0])
	assert.Equal(t, "after", rows[len(rows)-1][0])
}

// What can't be is refused with the place, the key, what was found and wanted.
func TestPickupRefuses(t *testing.T) {
	set := func(overrides ...string) (args []string) {
		for _, o := range overrides {
			args = append(args, "--set", o)
		}
		return args
	}
	in := func(before, value string) []string { return []string{file(t, broken(t, before, value))} }
	place := func(before string) string { return "my rifle.yaml:" + at(t, before) }
	for _, c := range []struct {
		name string
		args []string
		want string
	}{
		{"no rack", set("rack="), "rack: missing"},
		{"not measured", set("rack.pickup_offset="), "rack.pickup_offset: missing"},
		{"negative clearance", in("tip_clearance: ", "-0.25 mm"), place("tip_clearance: ") + "rack.tip_clearance: -0.25 mm is out of range; wanted 0 mm"},
		{"negative clearance by the lift", set("rack.lift=-0.3 mm"), "rack.lift: -0.3 mm with a tip clearance of 0.25 mm leaves a negative clearance of -0.05 mm"},
		{"negative play by the lift", set("rack.lift=-0.2 mm"), "leaves a negative clearance of -0.04559 mm between flanks"},
		{"missed", in("pickup_offset: ", "9 mm"), place("pickup_offset: ") + "rack.pickup_offset: missed: the pickup tooth stands ahead of the sector's reach"},
		{"missed late", in("pickup_offset: ", "-7 mm"), place("pickup_offset: ") + "rack.pickup_offset: missed: the pickup tooth stands 7 mm behind flush, out of the sector's reach; the sector's flank reaches 2.516 mm behind: measure again"},
		{"spacer too thick for the rack", in("spacer: ", "9.6 mm"), place("spacer: ") + "piston.spacer: missed: the pickup tooth stands 7 mm behind flush"},
		{"undercut", set("sector.full_teeth=16", "sector.teeth=10"), "rack.addendum: tooth 1 reaches 1 mm below the pitch line, where the sector's flank ends at 0.9358 mm"},
		{"too few rack teeth", in("rack: {teeth: ", "14"), place("rack: {teeth: ") + "rack.teeth: 14 are fewer than the 15 that the sector pulls"},
		{"out of reach", set("rack.taken_down=[{tooth: 2, depth: 1 mm}, {tooth: 1, depth: 2.1 mm}]"), "rack.taken_down.1.depth: the tip of the pickup tooth (rack tooth 1) stands 0.1 mm above the sector's tips, out of the sector's reach"},
		{"out of reach, the last", in("taken_down: [{tooth: ", "15"), "rack.taken_down.0.depth: the tip of the release tooth (rack tooth 15) stands 0.25 mm above"},
		{"out of reach by the lift", set("rack.lift=2.2 mm"), "rack.lift: the tip of the pickup tooth (rack tooth 1) stands 0.2 mm above the sector's tips, out of the sector's reach: lower the rack"},
		{"pointed sector", set("sector.addendum=1.8", "rack.addendum=1 mm", "rack.taken_down="), "sector.addendum: 1.8 modules with this pressure angle make pointed teeth"},
		{"pointed rack", set("rack.addendum=2.1 mm"), "rack.addendum: 2.1 mm makes pointed teeth on the rack"},
		{"a pad of no thickness", in("pads: [", "0 mm"), place("pads: [") + "pads.0: 0 mm is out of range"},
		{"a spacer at the port", set("piston.spacer=36 mm"), "piston.spacer: 36 mm moves the piston's rest to the port"},
		{"a stack at the port", set("cylinder.port=2.5 mm"), "piston.spacer: the contact asks for a spacer of 2.5 mm in all, which moves the piston's rest to the port"},
		{"a tooth that is not there", set("rack.taken_down=[{tooth: 17, depth: 1 mm}]"), "rack.taken_down.0.tooth: 17 is none of the rack's 16 teeth"},
		{"a tooth twice", set("rack.taken_down=[{tooth: 2, depth: 1 mm}, {tooth: 2, depth: 1 mm}]"), "rack.taken_down.1.tooth: tooth 2 is listed twice"},
		{"deeper than a tooth", in("depth: ", "2.5 mm"), place("depth: ") + "rack.taken_down.0.depth: 2.5 mm is more than the tooth's height of 2.25 mm"},
		{"picture", []string{"--plot", "x.bmp"}, "wanted one of .png, .svg, .pdf"},
		{"two builds", []string{"a.yaml", "b.yaml"}, "more than one build file"},
	} {
		t.Run(c.name, func(t *testing.T) {
			o := command(t, append([]string{"pickup"}, c.args...)...)
			assert.Equal(t, badInput, o.code)
			assert.Empty(t, o.stdout)
			assert.Contains(t, o.stderr, c.want)
		})
	}
}

func TestPickupInterrupt(t *testing.T) {
	ctx, stop := context.WithCancel(context.Background())
	stop()
	o := commandIn(t, ctx, "pickup")
	assert.Equal(t, interrupted, o.code)
	assert.Empty(t, o.stdout)
}
