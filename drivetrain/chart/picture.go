package chart

import (
	"bytes"
	"fmt"
	"io"
	"path/filepath"
	"slices"
	"strings"

	"golang.org/x/text/encoding/charmap"
	"gonum.org/v1/plot/font"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"
	"gonum.org/v1/plot/vg/vgimg"
	"gonum.org/v1/plot/vg/vgpdf"
	"gonum.org/v1/plot/vg/vgsvg"

	"example.org/ampstroke/drivetrain/wholefile"
)

// Picture is a drawing that can be saved in several formats.
type Picture struct {
	width, height vg.Length
	draw          func(draw.Canvas)
	// narrow makes the picture anew for a page that has its title beside it; nil: it has
	// no narrower form.
	narrow func() *Picture
}

// Narrow returns the picture in the form for a page that says in its own words what is
// seen: without its title, and so narrow that its letters can be read in half a sheet of
// paper, and on a telephone.
func (p *Picture) Narrow() *Picture {
	if p.narrow == nil {
		return p
	}
	return p.narrow()
}

// Formats lists the endings of file names that a picture can be saved under.
func Formats() []string { return []string{".png", ".svg", ".pdf"} }

// Format returns the format that a file's name asks for by its ending, in lower
// case, or an error that says which there are.
func Format(path string) (string, error) {
	ending := strings.ToLower(filepath.Ext(path))
	if !slices.Contains(Formats(), ending) {
		return "", fmt.Errorf("%s: no picture format goes with the ending %q; wanted one of %s",
			path, filepath.Ext(path), strings.Join(Formats(), ", "))
	}
	return ending, nil
}

// dotsPerInch of a PNG.
const dotsPerInch = 160

// Encode writes the picture in one of Formats.
func (p *Picture) Encode(w io.Writer, format string) error {
	var canvas interface {
		vg.CanvasSizer
		io.WriterTo
	}
	switch format {
	case ".png":
		canvas = boxed{vgimg.PngCanvas{Canvas: vgimg.NewWith(vgimg.UseWH(p.width, p.height), vgimg.UseDPI(dotsPerInch))}}
	case ".svg":
		canvas = vgsvg.New(p.width, p.height)
	case ".pdf":
		canvas = latin{vgpdf.New(p.width, p.height)}
	default:
		return fmt.Errorf("no picture format %q; wanted one of %s", format, strings.Join(Formats(), ", "))
	}
	p.draw(draw.New(canvas))
	if format != ".pdf" {
		_, err := canvas.WriteTo(w)
		return err
	}
	var b bytes.Buffer
	if _, err := canvas.WriteTo(&b); err != nil {
		return err
	}
	_, err := w.Write(undated(b.Bytes()))
	return err
}

// boxed draws a box in the place of a letter that the font lacks.
type boxed struct{ vgimg.PngCanvas }

// FillString implements [vg.Canvas].
func (b boxed) FillString(f font.Face, at vg.Point, text string) {
	b.PngCanvas.FillString(f, at, withBoxes(f, text))
}

// latin gives the PDF canvas its strings in the encoding of its fonts, Windows
// 1252. A string with letters beyond, such as Greek or Cyrillic, is drawn as outlines.
type latin struct{ *vgpdf.Canvas }

// FillString implements [vg.Canvas].
func (l latin) FillString(f font.Face, at vg.Point, text string) {
	var b []byte
	text = withBoxes(f, text)
	for _, r := range text {
		c, ok := charmap.Windows1252.EncodeRune(r)
		if !ok {
			for _, p := range outlines(f, at, text) {
				l.Fill(p)
			}
			return
		}
		b = append(b, c)
	}
	l.Canvas.FillString(f, at, string(b))
}

// Lacks lists the letters, each once, that the picture is to show in a format and the
// fonts have not, so that a box stands in their place. An SVG leaves its letters to the
// fonts of whoever looks at it.
func (p *Picture) Lacks(format string) []rune {
	if format == ".svg" {
		return nil
	}
	var h hearer
	p.draw(draw.NewCanvas(&h, p.width, p.height))
	return h.lacking
}

// undated sets the dates of a PDF to the start of the year 2000, digit by digit,
// so that the same picture gives the same bytes.
func undated(pdf []byte) []byte {
	for _, key := range []string{"/CreationDate (D:", "/ModDate (D:"} {
		for at := 0; ; {
			i := bytes.Index(pdf[at:], []byte(key))
			if i < 0 {
				break
			}
			at += i + len(key)
			copy(pdf[at:], "20000101000000")
		}
	}
	return pdf
}

// Save writes the picture to a file in the format of its ending, whole or not
// at all; a file that is there is replaced.
func (p *Picture) Save(path string) error {
	format, err := Format(path)
	if err != nil {
		return err
	}
	_, err = wholefile.Write(path, func(w io.Writer) error { return p.Encode(w, format) })
	return err
}
