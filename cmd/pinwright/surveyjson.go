package main

// The JSON that "pinwright survey -json" answers with, in full precision.
type (
	surveyJSON struct {
		Machine    string           `json:"machine"`
		Folder     string           `json:"folder"`
		Files      int              `json:"files"`
		Songs      []judgementJSON  `json:"songs"` // best first
		Unreadable []unreadableJSON `json:"unreadable"`
	}

	judgementJSON struct {
		File       string   `json:"file"`
		Number     int      `json:"song"` // in its file, from 1
		Title      string   `json:"title"`
		Suits      float64  `json:"suits"`
		FromBar    int      `json:"from_bar"`
		Bars       int      `json:"bars"`
		Transpose  int      `json:"transpose"` // semitones
		Notes      int      `json:"notes"`
		Share      float64  `json:"share"`
		WorstMS    float64  `json:"worst_error_ms"`
		RMSMS      float64  `json:"rms_error_ms"`
		TempoBPM   float64  `json:"tempo_bpm"`
		MaxSafeBPM *float64 `json:"max_safe_bpm"` // the bare limit before easing; null where the slowest is not safe
		EasedBPM   *float64 `json:"eased_bpm"`    // the bare limit after easing; null where the slowest is not safe even so
		EasedNotes int      `json:"eased_notes"`
		LeftOut    int      `json:"left_out"`
		Verdict    string   `json:"verdict"`
		KeepBelow  *float64 `json:"keep_below_bpm"` // after easing; null where no tempo can be trusted
		Slowest    *float64 `json:"slowest_bpm"`    // of its window for visitors, after easing; null where none is open
	}

	unreadableJSON struct {
		File string `json:"file"`
		Why  string `json:"why"`
	}
)

func newSurveyJSON(s surveyed) surveyJSON {
	out := surveyJSON{
		Machine: s.machine, Folder: s.folder, Files: s.files,
		Songs: make([]judgementJSON, len(s.songs)), Unreadable: make([]unreadableJSON, len(s.unreadable)),
	}
	for i, j := range s.songs {
		out.Songs[i] = judgementJSON{
			File: j.File, Number: j.Number, Title: j.Title, Suits: j.Suits,
			FromBar: j.FromBar, Bars: j.Bars, Transpose: j.Transpose, Notes: j.Notes, Share: j.Share,
			WorstMS: j.WorstMS, RMSMS: j.RMSMS, TempoBPM: j.TempoBPM, MaxSafeBPM: j.MaxSafeBPM,
			EasedBPM: j.EasedBPM, EasedNotes: j.EasedNotes, LeftOut: j.LeftOut, Verdict: j.Verdict,
			KeepBelow: j.KeepBelowBPM, Slowest: j.SlowestBPM,
		}
	}
	for i, u := range s.unreadable {
		out.Unreadable[i] = unreadableJSON{u.File, u.Why}
	}
	return out
}
