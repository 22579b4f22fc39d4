package sheets_test

import (
	"fmt"
	"strings"

	"pinwright/wheel"
	"pinwright/wheel/demo"
	"pinwright/wheel/place/paper"
	"pinwright/wheel/place/sheets"
)

func on(title string, channel string, steps ...int) *wheel.Pinning {
	p := &wheel.Pinning{Format: wheel.PinningFormat, Title: title, Machine: "Hailstone", TempoBPM: 84}
	for _, s := range steps {
		p.Pins = append(p.Pins, wheel.Pin{Channel: channel, Step: s})
	}
	return p
}

func ExamplePinListCSV() {
	var file strings.Builder
	if err := sheets.PinListCSV(&file, demo.Machine(), on("Mill Race", "bar-c5", 0, 14), sheets.Tips); err != nil {
		fmt.Println(err)
	}
	fmt.Println(strings.ReplaceAll(file.String(), "\r", ""))
	// Output:
	// step,bar,beat,row,channel,angle_deg,arc_mm,edge_mm,radius_mm
	// 0,1,1,5,bar-c5,0,0,130,600
	// 14,1,4.5,5,bar-c5,19.6875,206.167,130,600
}

func ExampleTemplate() {
	s, err := sheets.Template(demo.Machine(), on("Mill Race", "bar-c5", 0, 14), sheets.TemplateOptions{Paper: paper.Roll, RollWidthMM: 610})
	if err != nil {
		fmt.Println(err)
		return
	}
	wide, high := s.PageMM(1)
	fmt.Printf("%d page, %.0f mm × %.0f mm\n", s.Pages(), wide, high)
	// Output: 1 page, 3918 mm × 610 mm
}
