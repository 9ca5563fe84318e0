package main

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"net/url"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"time"
)

// instead is what helps where a page can't be printed here.
const instead = "write the page itself with a name that ends in .html, open it in any browser and print it there, to a file if need be"

// findBrowser returns the browser that prints pages without a screen.
func findBrowser() (string, error) {
	for _, name := range []string{"chromium", "chromium-browser"} {
		if path, err := exec.LookPath(name); err == nil {
			return path, nil
		}
	}
	return "", errors.New("a PDF is printed by the browser chromium, and none is found; " + instead)
}

// toPDF has a browser print a page, from a folder of its own.
func toPDF(ctx context.Context, browser string, page []byte) ([]byte, error) {
	const longest = 2 * time.Minute
	timed, end := context.WithTimeout(ctx, longest)
	defer end()
	dir, err := os.MkdirTemp("", "ampstroke-")
	if err != nil {
		return nil, err
	}
	defer os.RemoveAll(dir)
	from, to := filepath.Join(dir, "sheet.html"), filepath.Join(dir, "sheet.pdf")
	if err := os.WriteFile(from, page, 0o600); err != nil {
		return nil, err
	}
	args := []string{"--headless", "--disable-gpu", "--no-first-run", "--user-data-dir=" + filepath.Join(dir, "profile"), "--no-pdf-header-footer", "--print-to-pdf=" + to}
	if os.Geteuid() == 0 { // whom the browser gives no sandbox; the page has no script
		args = append(args, "--no-sandbox")
	}
	address := url.URL{Scheme: "file", Path: filepath.ToSlash(from)}
	cmd := exec.CommandContext(timed, browser, append(args, address.String())...)
	cmd.WaitDelay = time.Second
	var said bytes.Buffer
	cmd.Stdout, cmd.Stderr = &said, &said
	err = cmd.Run()
	if ctx.Err() != nil {
		return nil, ctx.Err()
	}
	pdf, failed := os.ReadFile(to)
	if err != nil || failed != nil || !bytes.HasPrefix(pdf, []byte("%PDF-")) {
		lines := strings.Split(strings.TrimSpace(said.String()), "\n")
		return nil, fmt.Errorf("the browser %s prints no page (%v: %s); %s", browser, errors.Join(err, failed), lines[len(lines)-1], instead)
	}
	return undated(pdf), nil
}

// undated sets the dates of a PDF to the start of the year 2000, digit by digit, so that
// the same page gives the same bytes.
func undated(pdf []byte) []byte {
	for _, key := range []string{"/CreationDate (D:", "/ModDate (D:"} {
		for rest := pdf; ; {
			i := bytes.Index(rest, []byte(key))
			if i < 0 {
				break
			}
			rest = rest[i+len(key):]
			copy(rest, "20000101000000")
		}
	}
	return pdf
}
