package chart

import (
	"image"
	"image/color"
	"slices"
	"strings"

	xfont "golang.org/x/image/font"
	"golang.org/x/image/font/sfnt"
	"golang.org/x/image/math/fixed"
	"gonum.org/v1/plot/font"
	"gonum.org/v1/plot/vg"
)

// outlines returns the shapes of a text's letters, a path each, with its beginning at a
// point.
func outlines(f font.Face, at vg.Point, text string) (all []vg.Path) {
	const fine = 1000 // in place of dots, so that hardly anything is rounded
	size := fixed.I(fine)
	scale := f.Font.Size / fine / 64
	var b sfnt.Buffer
	x := at.X
	for _, r := range text {
		glyph, err := f.Face.GlyphIndex(&b, r)
		if err != nil {
			continue // a fault of the font's file, which is the module's own
		}
		point := func(p fixed.Point26_6) vg.Point {
			return vg.Point{X: x + scale*vg.Length(p.X), Y: at.Y - scale*vg.Length(p.Y)} // a font's y runs downwards
		}
		var path vg.Path
		segments, _ := f.Face.LoadGlyph(&b, glyph, size, nil)
		for _, s := range segments {
			switch s.Op {
			case sfnt.SegmentOpMoveTo:
				if len(path) > 0 {
					path.Close()
				}
				path.Move(point(s.Args[0]))
			case sfnt.SegmentOpLineTo:
				path.Line(point(s.Args[0]))
			case sfnt.SegmentOpQuadTo:
				path.QuadTo(point(s.Args[0]), point(s.Args[1]))
			case sfnt.SegmentOpCubeTo:
				path.CubeTo(point(s.Args[0]), point(s.Args[1]), point(s.Args[2]))
			}
		}
		if len(path) > 0 {
			path.Close()
			all = append(all, path)
		}
		if advance, err := f.Face.GlyphAdvance(&b, glyph, size, xfont.HintingNone); err == nil {
			x += scale * vg.Length(advance)
		}
	}
	return all
}

// withBoxes puts a box in the place of each letter that a font lacks.
func withBoxes(f font.Face, text string) string {
	const box = '\u25a1'
	var b sfnt.Buffer
	return strings.Map(func(r rune) rune {
		if has(f, &b, r) {
			return r
		}
		return box
	}, text)
}

// has tells whether a font has a letter.
func has(f font.Face, b *sfnt.Buffer, r rune) bool {
	glyph, err := f.Face.GlyphIndex(b, r)
	return err == nil && glyph != 0
}

// hearer is a canvas that draws nothing and remembers which letters its fonts lack.
type hearer struct {
	b       sfnt.Buffer
	lacking []rune
}

// FillString implements [vg.Canvas].
func (h *hearer) FillString(f font.Face, _ vg.Point, text string) {
	for _, r := range text {
		if !has(f, &h.b, r) && !slices.Contains(h.lacking, r) {
			h.lacking = append(h.lacking, r)
		}
	}
}

// The rest of [vg.Canvas] is of no interest to a hearer.

func (*hearer) SetLineWidth(vg.Length)              {}
func (*hearer) SetLineDash([]vg.Length, vg.Length)  {}
func (*hearer) SetColor(color.Color)                {}
func (*hearer) Rotate(float64)                      {}
func (*hearer) Translate(vg.Point)                  {}
func (*hearer) Scale(x, y float64)                  {}
func (*hearer) Push()                               {}
func (*hearer) Pop()                                {}
func (*hearer) Stroke(vg.Path)                      {}
func (*hearer) Fill(vg.Path)                        {}
func (*hearer) DrawImage(vg.Rectangle, image.Image) {}
