package main

import (
	"encoding/json"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestPellets(t *testing.T) {
	o := command(t, "cycle", "--pellets", "0.20 g, 0.25g,0.28 g , 0.32 g")
	require.Zero(t, o.code)
	assert.Contains(t, o.stdout, "other pellets, released alike")
	assert.Regexp(t, `0\.2 g +120\.1 m/s +393\.9 ft/s +1\.441 J +11\.72 ms +2\.46 ms`, o.stdout, "the build's own pellet is as cycle says")
	assert.Regexp(t, `0\.32 g +88\.\d+ m/s`, o.stdout)

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
	assert.Contains(t, stuck.stderr, "[pellet-stuck]")
	assert.NotContains(t, stuck.stdout, "NaN")
}

func TestMatch(t *testing.T) {
	dir := t.TempDir()
	path := filepath.Join(dir, "match.svg")
	o := command(t, "cycle", "--match", "--plot", path)
	require.Zero(t, o.code)
	assert.Contains(t, o.stdout, "ratio          1.51 to 1")
	assert.Regexp(t, `best port +3\d\.\d+ mm +for this barrel: 1\.45 J; as built 36 mm: 1\.441 J`, o.stdout)
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
	assert.Contains(t, string(svg), "muzzle exit")
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
		{"the build stalls, or lets no shot go", []string{"--match", "--set", "spring.rate=2400 N/m", "--plot", filepath.Join(dir, "m.png")}},
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
	assert.Contains(t, o.stderr, "[premature-engagement]")
	assert.Regexp(t, `home 2\.9\d ms after the sector has come round`, o.stderr)
	assert.Contains(t, o.stderr, "about tooth 3, 6.46 mm from home (13 % of the stroke), at 6.84 m/s")
	assert.Regexp(t, `PME closing speed +6\.8\d m/s`, o.stdout)
	assert.Equal(t, missed, command(t, "cycle", "--set", "battery.series=3", "--strict").code, "a limit is broken")
	assert.Zero(t, command(t, "cycle", "--strict").code)
	assert.NotContains(t, command(t, "cycle").stderr, "premature")
}
