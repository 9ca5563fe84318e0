package chart

import (
	"image/color"
	"strings"

	"gonum.org/v1/plot"
	"gonum.org/v1/plot/font"
	"gonum.org/v1/plot/text"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"
)

// The hues differ in lightness, so that they stay apart in grey.
var (
	paper   = color.NRGBA{R: 0xff, G: 0xff, B: 0xff, A: 0xff}
	ink     = color.NRGBA{R: 0x1c, G: 0x1f, B: 0x24, A: 0xff}
	faint   = color.NRGBA{R: 0xdd, G: 0xdf, B: 0xe2, A: 0xff}
	middle  = color.NRGBA{R: 0x74, G: 0x78, B: 0x80, A: 0xff}
	between = color.NRGBA{R: 0xb4, G: 0xb7, B: 0xbc, A: 0xff}
	deep    = color.NRGBA{R: 0x14, G: 0x4a, B: 0x5c, A: 0xff}
	warm    = color.NRGBA{R: 0xd0, G: 0x7c, B: 0x2a, A: 0xff}
)

// stroke is how a course is drawn.
type stroke struct {
	name string
	line draw.LineStyle
	band bool // a pale ground within an outline
}

func solid(name string) stroke {
	return stroke{name: name, line: draw.LineStyle{Color: deep, Width: vg.Points(1.6)}}
}

func dashed(name string) stroke {
	return stroke{name: name, line: draw.LineStyle{Color: warm, Width: vg.Points(1.4), Dashes: []vg.Length{vg.Points(5), vg.Points(2.5)}}}
}

// series returns the stroke of line i among several: the dashes alone tell six
// of them apart, and the next six are thicker.
func series(i int, name string) stroke {
	line := draw.LineStyle{Width: vg.Points(1.5 + 1.3*float64(i/6))}
	line.Color = []color.Color{deep, warm, ink, middle, warm, deep}[i%6]
	line.Dashes = [][]vg.Length{
		nil, {vg.Points(6), vg.Points(2.5)}, {vg.Points(1.6), vg.Points(2)},
		{vg.Points(9), vg.Points(2), vg.Points(1.6), vg.Points(2)}, {vg.Points(3), vg.Points(1.5)},
		{vg.Points(9), vg.Points(2), vg.Points(1.6), vg.Points(2), vg.Points(1.6), vg.Points(2)},
	}[i%6]
	return stroke{name: name, line: line}
}

// short cuts a name that would be wider than a count of common letters.
func short(name string, most int) string {
	style := letters(9, ink)
	room := style.Width(strings.Repeat("n", most))
	if style.Width(name) <= room {
		return name
	}
	r := []rune(name)
	for n := 2 * most; n < len(r); n *= 2 { // what is far too wide isn't measured letter by letter
		if style.Width(string(r[:n])) > 2*room {
			r = r[:n]
		}
	}
	for len(r) > 1 && style.Width(string(r)+"…") > room {
		r = r[:len(r)-1]
	}
	return string(r) + "…"
}

// entry is a line of a legend that stands in a column: what it begins with, a name, which is
// cut until all fits a picture of the common width, and what follows.
func entry(head, name, rest string) string {
	const room = 15.6 * vg.Centimeter
	style := letters(9, ink)
	for most := 45; most > 4; most-- {
		if text := head + short(name, most) + rest; style.Width(text) <= room {
			return text
		}
	}
	return head + short(name, 4) + rest
}

// letters returns a text style. It is never bold: the PDF canvas of gonum/plot
// v0.17 can't find a bold font that it has embedded itself.
func letters(size float64, c color.Color) text.Style {
	f := font.From(plot.DefaultFont, vg.Points(size))
	f.Variant = "Sans"
	return text.Style{Color: c, Font: f, Handler: plot.DefaultTextHandler}
}
