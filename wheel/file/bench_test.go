package file_test

import (
	"fmt"
	"testing"

	"pinwright/wheel"
	"pinwright/wheel/file"
	"pinwright/wheel/file/filetest"
)

// A pinning of 20,000 pins is a wheel of 256 steps with 100 channels, three
// quarters full: more than any song.
func BenchmarkReadPinningOf20000Pins(b *testing.B) {
	p := &wheel.Pinning{Format: wheel.PinningFormat, Title: "Mill Race", Machine: "Hailstone", TempoBPM: 84}
	for i := range 20_000 {
		p.Pins = append(p.Pins, wheel.Pin{Channel: fmt.Sprintf("bar-%d", i%100), Step: i / 100, Aim: wheel.AimAt(float64(i/100 + 2))})
	}
	text := filetest.Written(b, file.Pinning(p))
	b.SetBytes(int64(len(text)))
	b.ReportAllocs()
	for b.Loop() {
		if _, err := file.ReadPinning(text); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkRefuseTheLargestHostileFiles(b *testing.B) {
	for name, text := range hostile(file.MaxBytes) {
		data := []byte(text)
		b.Run(name, func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				_, errMachine := file.ReadMachine(data)
				_, errPinning := file.ReadPinning(data)
				if errMachine == nil || errPinning == nil {
					b.Fatal("it was read")
				}
			}
		})
	}
}
