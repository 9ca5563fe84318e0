package main

import (
	"encoding/json"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestPellets(t *testing.T) {
	o := command(t, "cycle", "--pellets", "0.20 g, 0.25g,0.28 g , 0.32 g")
	require.Zero(t, o.code)
	assert.Contains(t, o.stdout, "other pellets, released alike")
	assert.Regexp(t, `0\.2 g +119\.7 m/s +392\.9 ft/s +1\.434 J +11\.60 ms +1\.12 ms`, o.stdout, "the build's own pellet is as testdata/reference/full/demo.json has it")
	assert.Regexp(t, `0\.32 g +93\.\d+ m/s`, o.stdout)

	var j struct {
		Velocity float64 `json:"muzzle_velocity_m_s"`
		Pellets  []struct {
			Mass     float64 `json:"mass_kg"`
			Velocity float64 `json:"muzzle_velocity_m_s"`
			Energy   float64 `json:"muzzle_energy_j"`
		}
	}
	require.NoError(t, json.Unmarshal([]byte(command(t, "cycle", "--json", "--pellets", "0.20 g, 0.28 g").stdout), &j))
	require.Len(t, j.Pellets, 2)
	assert.InEpsilon(t, j.Velocity, j.Pellets[0].Velocity, 1e-12)
	for _, p := range j.Pellets {
		assert.InEpsilon(t, p.Mass*p.Velocity*p.Velocity/2, p.Energy, 1e-12)
	}
	assert.InEpsilon(t, j.Pellets[0].Energy, j.Pellets[1].Energy, 0.1, "common practice, no source: 0.28 g keeps the energy of 0.20 g within a tenth")

	stuck := command(t, "cycle", "--pellets", "0.20 g", "--set", "pellet.hop_force=200 N")
	assert.Zero(t, stuck.code)
	assert.Contains(t, stuck.stdout, "stays in the barrel")
	assert.Regexp(t, `\nFAULT: the pellet does not leave the barrel(?s:.*?)\s\[pellet-stuck\]`, stuck.stdout)
	assert.NotContains(t, stuck.stdout, "NaN")
}

func TestMatch(t *testing.T) {
	dir := t.TempDir()
	path := filepath.Join(dir, "match.svg")
	o := command(t, "cycle", "--match", "--plot", path)
	require.Zero(t, o.code)
	assert.Contains(t, o.stdout, "ratio          1.51 to 1")
	assert.Regexp(t, `best port +3\d\.\d+ mm +for this barrel: 1\.44 J; as built 36 mm: 1\.434 J`, o.stdout)
	svg, err := os.ReadFile(path)
	require.NoError(t, err)
	for _, text := range []string{"barrel length, mm", "port position, mm", "most 1.4", "as built"} {
		assert.Contains(t, string(svg), text)
	}

	// The port that was found, put into the build, gives the energy that was promised.
	var j struct {
		Match struct {
			Port struct {
				At     float64 `json:"port_m"`
				Energy float64 `json:"muzzle_energy_j"`
			} `json:"best_port"`
			Ports []struct {
				At     float64  `json:"port_m"`
				Energy *float64 `json:"muzzle_energy_j"`
			}
		}
	}
	require.NoError(t, json.Unmarshal([]byte(command(t, "cycle", "--json", "--match").stdout), &j))
	text, err := json.Marshal(1e3 * j.Match.Port.At)
	require.NoError(t, err)
	var built struct {
		Energy float64 `json:"muzzle_energy_j"`
	}
	require.NoError(t, json.Unmarshal([]byte(command(t, "cycle", "--json", "--set", "cylinder.port="+string(text)+" mm").stdout), &built))
	assert.InEpsilon(t, built.Energy, j.Match.Port.Energy, 1e-5, "the match is computed to 1e-6")
	// Half a millimetre either way is worse: the top of a flat hill.
	for _, aside := range []float64{-2, 2} {
		moved, err := json.Marshal(1e3*j.Match.Port.At + aside)
		require.NoError(t, err)
		var beside struct {
			Energy float64 `json:"muzzle_energy_j"`
		}
		require.NoError(t, json.Unmarshal([]byte(command(t, "cycle", "--json", "--set", "cylinder.port="+string(moved)+" mm").stdout), &beside))
		assert.Less(t, beside.Energy, j.Match.Port.Energy)
	}
	for _, p := range j.Match.Ports {
		if p.Energy != nil {
			assert.LessOrEqual(t, *p.Energy, j.Match.Port.Energy*(1+1e-9))
		}
	}
}

func TestMatchOfAStuckPellet(t *testing.T) {
	o := command(t, "cycle", "--match", "--set", "barrel.length=3 m", "--set", "pellet.barrel_drag=4 N")
	require.Zero(t, o.code)
	assert.NotContains(t, o.stdout, "NaN")
	assert.Contains(t, o.stdout, "best port")
}

func TestFlightPicture(t *testing.T) {
	path := filepath.Join(t.TempDir(), "flight.svg")
	o := command(t, "cycle", "--flight", path)
	require.Zero(t, o.code)
	assert.Contains(t, o.stderr, "wrote "+path)
	svg, err := os.ReadFile(path)
	require.NoError(t, err)
	assert.Contains(t, string(svg), ">muzzle<", "the event has the name that it has in all pictures")
}

func TestShotFlagsRefuse(t *testing.T) {
	dir := t.TempDir()
	for _, c := range []struct {
		text string
		args []string
	}{
		{"--pellets: \"0.20\" is a bare number", []string{"--pellets", "0.20"}},
		{"--pellets:", []string{"--pellets", "0.20 g,,0.25 g"}},
		{"--pellets: -0.2 g is out of range", []string{"--pellets", "-0.2 g"}},
		{"--pellets:", []string{"--pellets", "NaN g"}},
		{"a tolerance has no meaning", []string{"--pellets", "0.2 g ± 1 %"}},
		{"--flight: f.gif: no picture format", []string{"--flight", "f.gif"}},
		{"writes to the same file", []string{"--flight", filepath.Join(dir, "a.png"), "--plot", filepath.Join(dir, "a.png")}},
		{"the build stalls, or lets no shot go", []string{"--match", "--set", "spring.rate=4000 N/m", "--plot", filepath.Join(dir, "m.png")}},
	} {
		o := command(t, append([]string{"cycle"}, c.args...)...)
		assert.Equal(t, badInput, o.code)
		assert.Contains(t, o.stderr, c.text)
		assert.Empty(t, o.stdout)
	}
	entries, err := os.ReadDir(dir)
	require.NoError(t, err)
	assert.Empty(t, entries)
}

func TestPrematureEngagementIsSaid(t *testing.T) {
	o := command(t, "cycle", "--set", "battery.series=3")
	assert.Zero(t, o.code)
	// 3.70 ms, 24.3 rounds a second: the margin and rate of testdata/reference/full/demo-three-cells.json.
	assert.Greater(t, sameAs(t, "full/demo-three-cells.json", figuresOf(t, "cycle", "--set", "battery.series=3"), "build", "commutation"), 50)
	said := strings.Join(strings.Fields(o.stdout), " ")
	assert.Contains(t, said, "FAULT: the piston is home 3.70 ms after the sector has come round, and the sector would meet the rack about tooth 5, 11.2 mm from home (21 % of the stroke), at 9 m/s")
	assert.Contains(t, said, "up to 24.3 rounds a second [premature-engagement]")
	assert.Regexp(t, `PME closing speed +9\.00 m/s`, o.stdout)
	assert.Equal(t, missed, command(t, "cycle", "--set", "battery.series=3", "--strict").code, "a limit is broken")
	assert.Zero(t, command(t, "cycle", "--strict").code)
	assert.NotContains(t, command(t, "cycle").stdout, "[premature-engagement]")
}
