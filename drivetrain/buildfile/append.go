package buildfile

import (
	"bytes"
	"fmt"
	"os"
	"slices"
	"strconv"
	"strings"

	"example.org/ampstroke/drivetrain/quantity"
)

// ReadingsText returns the text of the readings file at a path, nothing if there is none
// yet. One that is no readings file, and can't become one by another reading, is an error
// as in [ReadReadings].
func ReadingsText(path string) ([]byte, error) {
	data, fault := readFile(path)
	switch {
	case fault != nil && os.IsNotExist(fault.Cause):
		return nil, nil
	case fault != nil:
		return nil, ofReadings(fault)
	}
	const harmless = "{figure: rate_of_fire, value: 20 /s ± 1 /s}"
	_, err := AppendReading(path, data, harmless, "")
	return data, err
}

// AppendReading returns the text of a readings file with one reading more, behind the
// others; the list is made if there is none, and so is the file, of no text. The reading is
// YAML on one line, such as "{figure: rate_of_fire, value: 22.1 /s ± 0.1 /s}"; the comment
// stands behind it, or above a list in brackets. All else stays as it is. The text that is
// returned has been read by [ParseReadings]; what it finds wrong with the text that was
// given is the error, with the name before it.
func AppendReading(name string, data []byte, reading, comment string) ([]byte, error) {
	comment = quantity.Printable(comment, 200)
	if comment != "" {
		comment = "# " + comment
	}
	_, before := ParseReadings(name, data)
	text, err := appended(name, data, reading, comment)
	if err == nil {
		_, err = ParseReadings(name, text)
	}
	switch {
	case err == nil: // all that was wrong, if anything, is that there was no reading
		return text, nil
	case before != nil && !bare(bytes.TrimPrefix(data, []byte("\ufeff"))) && slices.ContainsFunc(quantity.Faults(before), func(f *quantity.Fault) bool { return f.Field != readingsKey }):
		return nil, before
	}
	return nil, err
}

const readingsKey = "readings"

// appended puts a reading in without asking what the rest is.
func appended(name string, data []byte, reading, comment string) ([]byte, error) {
	const key = readingsKey
	line := strings.TrimRight("- "+reading+"   "+comment, " ")
	text, marked := bytes.CutPrefix(data, []byte("\ufeff"))
	end := lineEnd(text)
	if bare(text) {
		if len(text) > 0 && text[len(text)-1] != '\n' {
			text = append(bytes.Clone(text), end...)
		}
		return mark(append(bytes.Clone(text), key+":"+end+line+end...), marked), nil
	}
	s, fault := newSource(name, data)
	if fault != nil {
		return nil, ofReadings(fault)
	}
	root, faults := s.parse()
	if len(faults) > 0 {
		return nil, ofReadings(faults...)
	}
	have := root.at([]string{key})
	switch {
	case root.shape != mapping || root.flow || have != nil && have.shape != list:
		return nil, ofReadings(&quantity.Fault{Place: root.place, Text: fmt.Sprintf("no reading can be added by itself; wanted %s: with a list below it", key)})
	case have == nil && root.find(key) != nil: // the key stands there without a value
		at := root.find(key).colon(text)
		return mark(splice(text, at, at, end+line), marked), nil
	case have == nil:
		if text[len(text)-1] != '\n' {
			text = append(bytes.Clone(text), end...)
		}
		return mark(append(bytes.Clone(text), key+":"+end+line+end...), marked), nil
	case !have.flow:
		return mark(appendLine(text, have, line), marked), nil
	}
	text = insert(text, root, []string{key, strconv.Itoa(len(have.items))}, reading)
	if comment != "" {
		from := root.find(key).from
		text = splice(text, from, from, comment+end)
	}
	return mark(text, marked), nil
}

// bare tells whether a text holds nothing but blank lines and comments.
func bare(text []byte) bool {
	for line := range bytes.Lines(text) {
		if t := bytes.TrimSpace(line); len(t) > 0 && t[0] != '#' {
			return false
		}
	}
	return true
}

// mark puts the byte-order mark back.
func mark(text []byte, marked bool) []byte {
	if marked {
		return append([]byte("\ufeff"), text...)
	}
	return text
}
