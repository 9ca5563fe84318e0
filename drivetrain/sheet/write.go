package sheet

import (
	"bytes"
	_ "embed"
	"html/template"
	"io"
	"sync"
)

var (
	//go:embed page.html
	pageText string
	//go:embed page.css
	styleText string
)

// form is the page's template, which escapes all that is put into it by where it stands.
var form = sync.OnceValue(func() *template.Template {
	return template.Must(template.New("page").Parse(pageText))
})

// Write writes the page of a sheet as HTML. The same sheet gives the same bytes.
func Write(w io.Writer, s *Sheet) error {
	p, err := s.page()
	if err != nil {
		return err
	}
	p.Style = template.CSS(styleText)
	var b bytes.Buffer // a page is written whole or not at all
	if err := form().Execute(&b, p); err != nil {
		return err
	}
	_, err = w.Write(b.Bytes())
	return err
}
