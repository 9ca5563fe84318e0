package buildfile_test

import (
	"testing"

	"example.org/ampstroke/drivetrain/buildfile"
)

func BenchmarkParse(b *testing.B) {
	text := []byte(buildfile.DemoText())
	b.ReportAllocs()
	for b.Loop() {
		if _, err := buildfile.Parse("b.yaml", text); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkWith(b *testing.B) {
	d, err := buildfile.DemoDocument()
	if err != nil {
		b.Fatal(err)
	}
	b.ReportAllocs()
	for b.Loop() {
		if _, err := d.With("spring.rate=700 N/m"); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkBytes(b *testing.B) {
	d, err := buildfile.DemoDocument("spring.rate=700 N/m")
	if err != nil {
		b.Fatal(err)
	}
	b.ReportAllocs()
	for b.Loop() {
		if _, err := d.Bytes(); err != nil {
			b.Fatal(err)
		}
	}
}
