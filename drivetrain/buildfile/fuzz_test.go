package buildfile_test

import (
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"example.org/ampstroke/drivetrain/buildfile"
	"example.org/ampstroke/drivetrain/quantity"
)

func seeds(f *testing.F) (texts []string) {
	texts = append(texts, rifleText, bare, blocks)
	paths, err := filepath.Glob(filepath.Join(builds, "*.yaml"))
	require.NoError(f, err)
	require.NotEmpty(f, paths)
	for _, path := range paths {
		text, err := os.ReadFile(path)
		require.NoError(f, err)
		texts = append(texts, string(text))
	}
	return append(texts, buildfile.DemoText())
}

// soon is how long a text of a fuzz test may take: the largest file takes a
// tenth of a second, ten times that on a busy machine.
const soon = 5 * time.Second

// Whatever the bytes: an answer soon, an error of a screenful or a build that
// is valid and whose text says the same again, with a setting as well.
func FuzzParse(f *testing.F) {
	for _, text := range seeds(f) {
		f.Add([]byte(text))
		f.Add([]byte("\ufeff" + strings.ReplaceAll(text, "\n", "\r\n")))
	}
	for _, c := range wrongTexts(f) {
		if len(c.text) < 10000 {
			f.Add([]byte(c.text))
		}
	}
	f.Add([]byte(strings.Replace(rifleText, "{mass: 26 g, drag: 5 N,", "{mass: 2,6 g ± 0,1 g, drag: -0,5 N,", 1)))
	f.Add([]byte(strings.Replace(rifleText, "turns: 28", "turns:28", 1)))
	f.Add([]byte(strings.Replace(rifleText, "remanence: 1.18 T", "grade: C8", 1)))
	f.Fuzz(func(t *testing.T, data []byte) {
		start := time.Now()
		d, err := buildfile.Parse("b.yaml", data)
		require.Less(t, time.Since(start), soon)
		if err != nil {
			require.ErrorAs(t, err, new(*quantity.Fault))
			screenful(t, err)
			return
		}
		require.NoError(t, d.Build.Validate())
		require.NoError(t, d.Target.Validate(buildfile.FindFigure))
		require.Equal(t, string(data), string(rereads(t, d)))
		require.NoError(t, d.Set("name", "x"))
		require.NoError(t, d.Set("gears.churning", "1e-6 N m s"))
		rereads(t, d)
	})
}

// Whatever the overrides: an error of a screenful or a document whose text says
// the same again; the one they are put on stays as it is.
func FuzzSet(f *testing.F) {
	for i, s := range []string{
		"spring.rate=700 N/m", "name=a: b # c", "name='a'", "pads=[1 mm, 2 mm]", "pads=", "pads.0=", "pads.2=\"1 mm\"",
		"harness.connectors.0.resistance=\nharness.connectors.0.resistance=1 mohm", "harness.connectors.1=", "harness.switch.contacts={material: copper, force: 1 N}",
		"gears.teeth={pinion: 10, bevel: 22, bevel_pinion: 11, spur: 29, spur_pinion: 10, sector: 18}", "rack=\nrack.taken_down.0={tooth: 2, depth: 1 mm}",
		"battery.chemistry=custom\nbattery.ocv=[[0 %, 3 V], [100 %, 4 V]]\nbattery.ocv.1.1=4.1 V", "tappet={from: 1 rad, to: 2 rad, work: 1 mJ}", "tappet.from=1 rad\ntappet.to=2 rad\ntappet.work=1 mJ",
		"spring.wire=1.3 mm\nspring.coil_diameter=12 mm\nspring.coils=30", "target=\ntarget.muzzle_energy.max=1 J", "motor.stator.bore=16 mm\nmotor.stator.air_gap=0.4 mm", "name=", "motor=", "rack={}", "ambient={}",
		"battery.chemistry=LiPo\nharness.lead.gauge=AWG 18\ngears.ratio=18:1\nbattery.discharge_rating=25C\nharness.switch.mosfet.active_braking=Yes",
		"motor.stator.magnet={grade: N42SH, thickness: 2 mm, arc: 120 deg}", "motor.stator.magnet.grade=y30\nmotor.stator.magnet.remanence=", "motor.stator.magnet.grade=N41",
		"pads=[0,5 mm, 1,0 mm]", "piston={mass: 0,20 g, drag: 5,5 N ± 0,5 N}", "battery.ocv=[[0 %, 3,0 V], [99,9 %, 4 V]]", "battery.capacity=1.200 mAh", "spring.stiffness=680 N/m",
	} {
		f.Add(uint8(i), s)
	}
	var documents []*buildfile.Document
	for _, text := range seeds(f) {
		for _, t := range []string{text, strings.ReplaceAll(text, "\n", "\r\n"), strings.TrimSpace(text)} {
			d, err := buildfile.Parse("b.yaml", []byte(t))
			require.NoError(f, err)
			documents = append(documents, d)
		}
	}
	f.Fuzz(func(t *testing.T, which uint8, text string) {
		d := documents[int(which)%len(documents)]
		start := time.Now()
		n, err := d.With(strings.Split(text, "\n")...)
		require.Less(t, time.Since(start), soon)
		if err != nil {
			require.ErrorAs(t, err, new(*quantity.Fault))
			screenful(t, err)
			return
		}
		require.NoError(t, n.Build.Validate())
		rereads(t, n)
	})
}

// Whatever the bytes: an answer soon, an error of a screenful or a shelf whose first and
// last combinations are what their files say.
func FuzzShelf(f *testing.F) {
	dir := f.TempDir()
	require.NoError(f, os.WriteFile(filepath.Join(dir, "rifle.yaml"), []byte(buildfile.DemoText()), 0o666))
	text, err := os.ReadFile(cupboard)
	require.NoError(f, err)
	f.Add(text)
	const head = "base: rifle.yaml\nslots:\n"
	for _, s := range []string{
		"  spring: [{name: a, price: 2.5, part: {rate: 700 N/m}}, {name: b, part: none}]\n  piston.mass: [{name: c, part: 20 g, never_with: {spring: [a]}}]\n",
		"  harness.connectors.1: [{name: a, part: none, also: {harness.connectors: none}}]\n", "  rack: [{name: a, part: {taken_down: []}}]\n",
		"  name: [{name: a, part: base}, {name: b, part: \"none\"}]\n", "  motor: [{name: a, part: {bench: {}}}]\n", "  tappet: [{name: a, from: rifle.yaml}]\n",
	} {
		f.Add([]byte(head + s))
	}
	f.Fuzz(func(t *testing.T, data []byte) {
		start := time.Now()
		s, err := buildfile.ParseShelf(filepath.Join(dir, "a.shelf.yaml"), data)
		require.Less(t, time.Since(start), soon)
		if err != nil {
			require.ErrorAs(t, err, new(*quantity.Fault))
			screenful(t, err)
			return
		}
		c, err := s.Compose()
		require.NoError(t, err)
		first, last := make([]int, len(s.Slots)), make([]int, len(s.Slots))
		for i := range s.Slots {
			last[i] = len(s.Slots[i].Parts) - 1
		}
		for _, parts := range [][]int{first, last} {
			b, fault := c.Build(parts)
			d, err := c.Document(parts)
			require.Equal(t, fault == nil, err == nil, "%v: %v", fault, err)
			if fault == nil {
				require.Equal(t, d.Build, b.Clone())
			}
		}
		require.Less(t, time.Since(start), soon)
	})
}
