package sheet_test

import (
	"bytes"
	"context"
	"encoding/xml"
	"errors"
	"flag"
	"fmt"
	"html"
	"io"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/ampstroke/drivetrain/buildfile"
	"example.org/ampstroke/drivetrain/heat"
	"example.org/ampstroke/drivetrain/internal/effort"
	"example.org/ampstroke/drivetrain/quantity"
	"example.org/ampstroke/drivetrain/sheet"
	"example.org/ampstroke/drivetrain/study"
	"example.org/ampstroke/motor"
)

var update = flag.Bool("update", false, "write the expected page anew")

func demo(t testing.TB, overrides ...string) *buildfile.Document {
	t.Helper()
	d, err := buildfile.DemoDocument(overrides...)
	require.NoError(t, err)
	return d
}

// lighter are overrides for what has nothing to do with physics: plain physics costs half as
// much.
func lighter() []string {
	if effort.All() {
		return nil
	}
	return []string{"spring.waves=false", "barrel.air=still", "barrel.wall_heat=0", "cylinder.wall_heat=0", "motor.commutation=0 %"}
}

// written is the page of an order, and what it was made of.
func written(t testing.TB, o sheet.Order) (string, *sheet.Sheet) {
	t.Helper()
	s, err := sheet.Make(context.Background(), o)
	require.NoError(t, err)
	var b bytes.Buffer
	require.NoError(t, sheet.Write(&b, s))
	return b.String(), s
}

// full is a demo with all that a sheet can have.
func full(t testing.TB) sheet.Order {
	t.Helper()
	r, err := buildfile.ParseReadings("evening.yaml", []byte(`name: Evening
instruments: {chronograph: 2 %}
readings:
- {figure: rate_of_fire, value: 22.1 /s ± 0.4 /s, times: 4}
- {figure: muzzle_velocity, value: 100 m/s ± 1 m/s, instrument: chronograph, with: {pellet.mass: 0.28 g}}
- {figure: no_load_speed, value: 15000 rpm ± 200 rpm, supply: 7.4 V}
- {figure: rate_of_fire, value: 3 /s ± 0.4 /s, with: {spring.rate: 4000 N/m}}
`))
	require.NoError(t, err)
	return sheet.Order{
		Document: demo(t), Plan: buildfile.DemoPlan(), Against: demo(t, "motor.armature.turns=32", "harness.lead.gauge=18 AWG", "name=Before"), Readings: r,
		For: "Ada Example", By: "The bench", Date: "a Sunday", Command: "ampstroke sheet", Version: "(devel)",
	}
}

func TestDemoPage(t *testing.T) {
	path := filepath.Join("testdata", "demo.html")
	got, _ := written(t, sheet.Order{Document: demo(t), Plan: buildfile.DemoPlan(), For: "Ada Example", By: "The bench", Date: "a Sunday", Command: "ampstroke sheet --out FILE"})
	if *update {
		require.NoError(t, os.WriteFile(path, []byte(got), 0o666))
	}
	want, err := os.ReadFile(path)
	require.NoError(t, err)
	if !bytes.Equal(want, []byte(got)) {
		t.Errorf("the page differs from %s from byte %d on; -update writes it anew", path, firstDifference(want, []byte(got)))
	}
	again, _ := written(t, sheet.Order{Document: demo(t), Plan: buildfile.DemoPlan(), For: "Ada Example", By: "The bench", Date: "a Sunday", Command: "ampstroke sheet --out FILE"})
	assert.True(t, got == again, "the same order gives the same bytes")
}

func firstDifference(a, b []byte) int {
	for i := range min(len(a), len(b)) {
		if a[i] != b[i] {
			return i
		}
	}
	return min(len(a), len(b))
}

// allowed are the elements and attributes of a page, which nothing that is shown adds to.
var (
	elements = strings.Fields("html head meta title style body header main footer section h1 h2 h3 dl div dt dd bdi p strong em ul ol li small table thead tbody tr th td figure figcaption svg path text code")
	known    = strings.Fields("lang charset name content http-equiv class scope colspan role aria-label viewBox d fill stroke stroke-width stroke-dasharray stroke-dashoffset x y font-size transform textLength lengthAdjust")
)

// walk goes through a page as a browser would that takes it for what it is.
func walk(t testing.TB, page string, see func(xml.StartElement)) (text string) {
	t.Helper()
	d := xml.NewDecoder(strings.NewReader(page))
	d.Strict, d.AutoClose, d.Entity = false, []string{"meta"}, xml.HTMLEntity
	var b strings.Builder
	for {
		token, err := d.Token()
		if errors.Is(err, io.EOF) {
			return b.String()
		}
		require.NoError(t, err)
		switch e := token.(type) {
		case xml.StartElement:
			see(e)
		case xml.CharData:
			b.Write(e)
		}
	}
}

// Nothing that stands in a name, a text or a plan becomes more than text.
func TestHostileText(t *testing.T) {
	plan := &heat.Plan{Name: `<script>alert("plan")</script>`, Repeat: 1, Steps: []heat.Step{{Rounds: 3, Repeat: 1}}}
	for name, text := range map[string]string{
		"script":        `<script>alert(1)</script>`,
		"attribute":     `" onload="alert(1)" x="`,
		"end of style":  `</style></title><img src=x>`,
		"comment":       `<!-- --><![CDATA[ {{.Style}} ]]>`,
		"entity":        `&lt;b&gt; &#x3c;script>`,
		"long":          strings.Repeat("Ж", 10000),
		"right to left": "שלום \u202e evil \u2066 x",
		"emoji":         "👩🏽‍🔧🧰 e\u0301",
		"controls":      "a\x00b\x07c\ufffdd\xffe\x1b[31m",
	} {
		t.Run(name, func(t *testing.T) {
			d := demo(t, lighter()...)
			d.Build.Name = text // more than a file lets through
			page, _ := written(t, sheet.Order{Document: d, Plan: plan, Against: d, For: text, By: text, Date: text, Command: text, Version: text})
			all := walk(t, page, func(e xml.StartElement) {
				assert.Contains(t, elements, e.Name.Local)
				for _, a := range e.Attr {
					assert.Contains(t, known, a.Name.Local, "of %s", e.Name.Local)
				}
			})
			odd := regexp.MustCompile("[\x00-\x08\x0b\x0c\x0e-\x1f\x7f\u202a-\u202e\u2066-\u2069]").FindStringIndex(page)
			if odd != nil {
				t.Errorf("what doesn't print is on the page: %q", page[max(0, odd[0]-60):odd[1]])
			}
			if len(text) < 100 && !strings.ContainsAny(text, "\x00\u202e\u0301") {
				assert.True(t, strings.Contains(all, strings.Join(strings.Fields(text), " ")), "is shown as it is")
			}
			assert.Less(t, len(page), 300_000)
			assert.LessOrEqual(t, strings.Count(page, "Ж"), 2500, "nobody reads ten thousand letters")
		})
	}
}

// A page asks for nothing: it has no script, no address and nothing to find elsewhere.
func TestLoadsNothing(t *testing.T) {
	page, _ := written(t, full(t))
	for _, no := range []string{"<script", "://", " src=", " href=", "url(", "@import", "<link", "<img", "<iframe", "<object", " on", " id=", " style="} {
		if no == " on" {
			assert.Empty(t, regexp.MustCompile(`<[^>]* on[a-z]+=`).FindString(page))
			continue
		}
		assert.False(t, strings.Contains(page, no), no)
	}
	assert.True(t, strings.Contains(page, `content="default-src 'none'; style-src 'unsafe-inline'"`))
}

var tag = regexp.MustCompile(`<[^>]*>`)

// headings lists those of a level.
func headings(page, level string) (all []string) {
	for _, m := range regexp.MustCompile(`<`+level+`>(.*?)</`+level+`>`).FindAllStringSubmatch(page, -1) {
		all = append(all, tag.ReplaceAllString(m[1], ""))
	}
	return all
}

func TestOrder(t *testing.T) {
	page, _ := written(t, full(t))
	assert.Equal(t, []string{"Woodland club rifle"}, headings(page, "h1"))
	assert.Equal(t, []string{"Verdict", "Figures", "The build, part by part", "Pictures", "Before and after", "Measured and computed", "What the model leaves out", "Cautions"}, headings(page, "h2"))
	assert.Equal(t, []string{
		"Motor", "Battery", "Harness", "Gears", "Sector", "Rack", "Pads", "Piston", "Spring", "Cylinder", "Barrel", "Pellet", "Trigger", "Ambient",
		"Over one cycle", "After the release", "The pickup from the side", "Work at the pickup", "Temperatures over the firing plan", "What gives out first", "Where the energy of a shot goes",
		"One cycle of each",
	}, headings(page, "h3"))
	svg, heads, rows := 0, 0, 0
	walk(t, page, func(e xml.StartElement) {
		switch e.Name.Local {
		case "svg":
			svg++
			assert.True(t, slices.ContainsFunc(e.Attr, func(a xml.Attr) bool { return a.Name.Local == "aria-label" && len(a.Value) > 40 }), "each picture says in words what it shows")
		case "th":
			heads++
			assert.True(t, slices.ContainsFunc(e.Attr, func(a xml.Attr) bool { return a.Name.Local == "scope" }), "each head says of what")
		case "tr":
			rows++
		}
	})
	assert.Equal(t, 6, svg)
	assert.GreaterOrEqual(t, heads, rows, "each line has one")
	bare, _ := written(t, sheet.Order{Document: demo(t, "rack.pickup_offset=")})
	assert.Equal(t, []string{"Verdict", "Figures", "The build, part by part", "Pictures", "What the model leaves out", "Cautions"}, headings(bare, "h2"))
	assert.NotContains(t, headings(bare, "h3"), "Work at the pickup", "where the rack's place isn't known")
	assert.False(t, strings.Contains(bare, "<dt>For</dt>"))
	assert.True(t, strings.Contains(bare, "No firing plan was given"))
}

// line is the row of a table behind its head, without tags.
func line(t testing.TB, page, head string) string {
	t.Helper()
	m := regexp.MustCompile(`<tr><th scope="row">` + regexp.QuoteMeta(head) + `\b.*</tr>`).FindString(page)
	require.NotEmpty(t, m, head)
	return strings.Join(strings.Fields(html.UnescapeString(tag.ReplaceAllString(m, " "))), " ")
}

// Figures have the words of their lists, and their wishes beside them.
func TestFigures(t *testing.T) {
	page, s := written(t, sheet.Order{Document: demo(t, "target.stroke.max=40 mm", "target.pickup_tooth_safety.min=0.5")})
	list := study.All()
	for _, name := range append(study.Headline(s.Look.Build.Trigger.Mode), "stroke", "pickup_tooth_safety") {
		f, ok := list.Find(name)
		require.True(t, ok)
		got := line(t, page, f.Label)
		assert.Contains(t, got, f.Meaning)
		assert.Contains(t, got, strings.TrimSpace(f.Text(s.Look.Value(name))))
	}
	assert.Equal(t, "rate of fire rounds a second in the steady cycle 22.02 /s at least 20 /s met", line(t, page, "rate of fire"))
	assert.Contains(t, line(t, page, "stroke"), "at most 40 mm missed by 13.15 mm")
	assert.Contains(t, line(t, page, "trigger delay"), "–")
	assert.Contains(t, line(t, page, "muzzle velocity"), "392.9 ft/s, with 0.20 g")

	stalled, _ := written(t, sheet.Order{Document: demo(t, "spring.rate=4000 N/m"), Plan: buildfile.DemoPlan()})
	assert.Contains(t, line(t, stalled, "rate of fire"), "none at least 20 /s missed: the build doesn't come to it")
	assert.NotContains(t, headings(stalled, "h3"), "Where the energy of a shot goes")
	single, _ := written(t, sheet.Order{Document: demo(t, "trigger.mode=single", "harness.switch.mosfet.active_braking=true")})
	assert.False(t, strings.Contains(single, "NaN"))
	assert.False(t, strings.Contains(stalled, "NaN"))
}

func TestVerdict(t *testing.T) {
	for _, c := range []struct {
		set  []string
		want string
	}{
		{nil, `<p class="verdict good"><strong>Target met.</strong> Rate of fire 22.02 /s, muzzle velocity 119.7 m/s (392.9 ft/s); there are 3 cautions to be minded.</p>`},
		{[]string{"motor.armature.turns=32"}, `<p class="verdict missed"><strong>Target missed.</strong> Rate of fire, `},
		{[]string{"battery.series=3"}, `<p class="verdict fault"><strong>Target missed, and a fault.</strong>`},
		{[]string{"battery.series=3", "target="}, `<p class="verdict fault"><strong>No target, and a fault.</strong> The build file asks for no figure; there is a fault that has to be mended before it is fired.</p>`},
	} {
		page, s := written(t, sheet.Order{Document: demo(t, c.set...)})
		assert.True(t, strings.Contains(page, c.want), "%s: %s", c.want, regexp.MustCompile(`<p class="verdict.*`).FindString(page))
		for _, f := range s.Findings {
			if f.Code != "target" {
				assert.True(t, strings.Contains(walk(t, page, func(xml.StartElement) {}), f.Text), f.Text)
			}
		}
	}
	// A plan adds its own.
	hot := demo(t, "harness.fuse.rating=8 A", "harness.fuse.melting=40 A2 s")
	page, s := written(t, sheet.Order{Document: hot, Plan: buildfile.DemoPlan()})
	assert.Greater(t, len(s.Findings), len(s.Look.Findings))
	assert.Contains(t, line(t, page, "fuse"), ", the first")
	assert.True(t, strings.Contains(page, "First to give out: the fuse"))
}

// Each value of the build is there, with what it means, and what was assumed is marked.
func TestParts(t *testing.T) {
	d := demo(t, "spring.preload=45 mm +- 1 mm", "battery.ocv=[[0 %, 3 V], [50 %, 3.7 V], [100 %, 4.2 V]]", "battery.chemistry=custom", "harness.connectors.1.resistance=0.9 mohm")
	page, _ := written(t, sheet.Order{Document: d})
	for head, want := range map[string]string{
		"preload":        "preload compression with the piston home, without the spacer 45 mm ± 1 mm",
		"carter":         "carter factor by which the slots lengthen the air gap 1.1",
		"brake delay":    "brake delay time from switch-off to the short ( assumed : typical of such builds (closure)) 0.001 s assumed",
		"pads":           "pads thickness of a spacer pad in stock, one piece 0.5 mm, 1.0 mm, 1.5 mm, 2.0 mm, 3.0 mm",
		"ocv":            "ocv state of charge of a row of the open-circuit table, from 0 to 100 % 0 %, 3 V; 50 %, 3.7 V; 100 %, 4.2 V",
		"remanence":      "remanence remanence of the magnets at 20 degC 1.18 T",
		"pickup offset":  "pickup offset how far the driven flank of the first tooth stands ahead of the sector's centre, piston home, no spacer 2.6 mm",
		"engaged angle":  "253.8 deg assumed",
		"rotor diameter": "15.2 mm",
	} {
		assert.Contains(t, line(t, page, head), want)
	}
	groups := regexp.MustCompile(`<th scope="rowgroup" colspan="2">(.*?)</th>`).FindAllStringSubmatch(page, -1)
	var names []string
	for _, g := range groups {
		names = append(names, g[1])
	}
	assert.Contains(t, names, "stator › magnet")
	assert.Contains(t, names, "connectors › 1, 2 › heat", "what both have stands in one line")
	assert.Contains(t, names, "connectors › 1")
	assert.Contains(t, names, "connectors › 2")
	assumed := strings.Count(page, "<em>assumed</em></td>")
	assert.True(t, strings.Contains(page, fmt.Sprintf("<p>%d of the values are not in the build file", assumed)))
	assert.Greater(t, assumed, 20)
	assert.True(t, strings.Contains(page, d.Sum()))
}

func TestBefore(t *testing.T) {
	page, s := written(t, full(t))
	assert.NotEmpty(t, regexp.MustCompile(`motor › armature › turns</th><td>32</td><td>25</td>`).FindString(page))
	assert.NotEmpty(t, regexp.MustCompile(`harness › lead › gauge</th><td>18 AWG</td><td>16 AWG</td>`).FindString(page))
	was, is := s.Before.Looks[0].Value("rate_of_fire"), s.Before.Looks[1].Value("rate_of_fire")
	assert.True(t, strings.Contains(html.UnescapeString(strings.ReplaceAll(page, "\u00a0", " ")), fmt.Sprintf("<td>%.2f /s</td><td>%.2f /s</td><td>%+.1f %%</td>", was, is, 100*(is/was-1))))
	assert.True(t, strings.Contains(page, "Before: <bdi>Before</bdi>. Target missed: rate of fire"))
	same, _ := written(t, sheet.Order{Document: demo(t), Against: demo(t)})
	assert.True(t, strings.Contains(same, "Both files describe the same build."))
}

// Computed figures are those of the build under the conditions of each reading.
func TestMeasured(t *testing.T) {
	o := full(t)
	page, s := written(t, o)
	require.Len(t, s.Measured, 4)
	rate, speed, alone, stalled := s.Measured[0], s.Measured[1], s.Measured[2], s.Measured[3]
	assert.InDelta(t, s.Look.Value("rate_of_fire"), rate.Computed, 1e-9*rate.Computed)
	assert.InDelta(t, 0.2, rate.Tolerance, 1e-12, "the mean of four is known twice as well")
	assert.InDelta(t, (22.1-rate.Computed)/0.2, rate.Apart(), 1e-9)
	heavy, err := sheet.Make(context.Background(), sheet.Order{Document: demo(t, "pellet.mass=0.28 g")})
	require.NoError(t, err)
	assert.InDelta(t, heavy.Look.Value("muzzle_velocity"), speed.Computed, 1e-6*speed.Computed)
	assert.InDelta(t, 2.23607, speed.Tolerance, 1e-5, "of reading and scale: √(1² + 2²)")
	b := o.Document.Build
	onSupply := b.Motor.On(7.4, b.Ambient.Temperature, b.Ambient.Temperature)
	f, _ := motor.Figures().Find("no_load_speed")
	assert.Equal(t, f.Value(&onSupply), alone.Computed)
	assert.Equal(t, "the motor stalls", stalled.Why)
	text := strings.ReplaceAll(page[strings.Index(page, "Measured and computed"):], "\u00a0", " ")
	assert.True(t, strings.Contains(text, `<small>mean of 4</small></th><td>22.10 /s ± 0.20 /s</td><td>22.02 /s</td><td>within its ±</td>`))
	assert.True(t, strings.Contains(text, `<small>pellet.mass=0.28 g, by chronograph</small></th><td>100.0 m/s ± 2.2 m/s</td>`))
	assert.True(t, strings.Contains(text, `motor alone on 7.4 V`))
	assert.True(t, strings.Contains(text, `<td>–</td><td>the motor stalls</td>`))

	r, err := buildfile.ParseReadings("r.yaml", []byte("readings:\n- {figure: rate_of_fire, value: 22 /s ± 1 /s, with: {rack.teeth: 3}}\n"))
	require.NoError(t, err)
	o.Readings = r
	_, err = sheet.Make(context.Background(), o)
	require.Error(t, err)
	assert.Contains(t, err.Error(), "r.yaml:2:")
	assert.NotEmpty(t, quantity.Faults(err))
}

func TestMakeRefuses(t *testing.T) {
	_, err := sheet.Make(context.Background(), sheet.Order{})
	assert.EqualError(t, err, "a sheet wants a build")
	ctx, end := context.WithCancel(context.Background())
	end()
	_, err = sheet.Make(ctx, full(t))
	assert.ErrorIs(t, err, context.Canceled)
	plan := buildfile.DemoPlan()
	plan.Steps = nil
	_, err = sheet.Make(context.Background(), sheet.Order{Document: demo(t), Plan: plan})
	assert.ErrorContains(t, err, "steps")
	s, err := sheet.Make(context.Background(), sheet.Order{Document: demo(t)})
	require.NoError(t, err)
	full := errors.New("no space left")
	assert.ErrorIs(t, sheet.Write(failing{full}, s), full)
}

type failing struct{ err error }

func (f failing) Write([]byte) (int, error) { return 0, f.err }

// The page of the embedded demo.
func ExampleWrite() {
	d, err := buildfile.DemoDocument()
	if err != nil {
		fmt.Println(err)
		return
	}
	s, err := sheet.Make(context.Background(), sheet.Order{Document: d, Plan: buildfile.DemoPlan(), For: "Ada Example"})
	if err != nil {
		fmt.Println(err)
		return
	}
	var page strings.Builder
	if err := sheet.Write(&page, s); err != nil {
		fmt.Println(err)
		return
	}
	title, _, _ := strings.Cut(page.String()[strings.Index(page.String(), "<title>"):], "\n")
	fmt.Println(title)
	fmt.Println(strings.Count(page.String(), "<svg"), "pictures")
	// Output:
	// <title>Woodland club rifle</title>
	// 5 pictures
}
