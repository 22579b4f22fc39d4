package main

// The JSON that "pinwright sheets -json" answers with.
type (
	sheetsJSON struct {
		Machine     string        `json:"machine"`
		Pinning     string        `json:"pinning"`
		Pins        int           `json:"pins"`
		Paper       string        `json:"paper"`
		RollWidthMM *float64      `json:"roll_width_mm"` // null where it is no roll
		Radius      string        `json:"radius"`
		RadiusMM    float64       `json:"radius_mm"`
		RoundMM     float64       `json:"round_mm"`
		Pages       int           `json:"pages"` // of all PDF files
		Files       []sheetJSON   `json:"files"`
		Missing     []missingJSON `json:"missing"`
	}

	// Pages and the first page's width and height are null where there are no pages.
	sheetJSON struct {
		File     string   `json:"file"`
		Pages    *int     `json:"pages"`
		WidthMM  *float64 `json:"width_mm"`
		HeightMM *float64 `json:"height_mm"`
	}

	missingJSON struct {
		File string `json:"file"`
		Why  string `json:"why"`
	}
)

func newSheetsJSON(r *sheetsReport) sheetsJSON {
	out := sheetsJSON{
		Machine: r.machine, Pinning: r.pinning, Pins: r.pins,
		Paper: string(r.paper), RollWidthMM: r.rollWidthMM,
		Radius: string(r.radius), RadiusMM: r.radiusMM, RoundMM: r.roundMM,
		Pages: r.pages, Files: make([]sheetJSON, len(r.files)), Missing: make([]missingJSON, len(r.missing)),
	}
	for i, f := range r.files {
		out.Files[i] = sheetJSON{f.name, f.pages, f.widthMM, f.heightMM}
	}
	for i, m := range r.missing {
		out.Missing[i] = missingJSON{m.name, m.why}
	}
	return out
}
