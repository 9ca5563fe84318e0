package main

import (
	"io"
	"os"
	"time"

	"github.com/schollz/progressbar/v3"
)

// progress returns a bar for so many pieces of work as count says, -1 for an unknown
// number, drawn on w if that is a terminal and what comes out of the work goes elsewhere.
func progress(w, result io.Writer, count func() int, what string) *progressbar.ProgressBar {
	total, seen := -1, terminal(w) && !terminal(result)
	if seen {
		total = count()
	}
	return progressbar.NewOptions(total,
		progressbar.OptionSetWriter(w),
		progressbar.OptionSetVisibility(seen),
		progressbar.OptionSetDescription(what),
		progressbar.OptionShowCount(),
		progressbar.OptionShowIts(),
		progressbar.OptionThrottle(200*time.Millisecond),
		progressbar.OptionClearOnFinish(),
	)
}

// terminal tells whether a writer is one.
func terminal(w io.Writer) bool {
	if out, ok := w.(*writer); ok {
		w = out.w
	}
	f, ok := w.(*os.File)
	if !ok {
		return false
	}
	i, err := f.Stat()
	return err == nil && i.Mode()&os.ModeCharDevice != 0
}
