package browsertest

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"
)

// takeFiles is a page that writes the name, length and text of each file it is
// given, whether chosen or dropped, and whether the event was a real one.
const takeFiles = `
const out = document.querySelector("output");
const take = async (how, event, files) => {
	const lines = [];
	for (const file of files) lines.push([how, event.isTrusted, file.name, file.size, await file.text()].join(" "));
	out.textContent = lines.join("\n");
};
const input = document.querySelector("input");
input.addEventListener("change", (event) => take("chosen", event, input.files));
const zone = document.querySelector("#zone");
zone.addEventListener("dragover", (event) => { event.preventDefault(); zone.classList.add("over"); });
zone.addEventListener("drop", (event) => {
	event.preventDefault();
	if (!zone.classList.contains("over")) throw new Error("dropped without being dragged over");
	take("dropped", event, event.dataTransfer.files);
});`

func TestFilesAreChosenAndDropped(t *testing.T) {
	folder := t.TempDir()
	for name, text := range map[string]string{"mill-race.mid": "MThd", "weir.mid": "MThd weir"} {
		if err := os.WriteFile(filepath.Join(folder, name), []byte(text), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	t.Chdir(folder)
	b := Start(t)
	for _, view := range []View{Phone, Laptop} {
		p := b.Open(t, serve(t, `<label>Songs <input type="file" multiple></label>
			<svg width="20" height="1500"></svg><div id="zone">Drop songs here</div><output></output>`, takeFiles), view)
		for _, c := range []struct {
			how  string
			give func(testing.TB, string, ...string)
			to   string
		}{{"chosen", p.Upload, "input"}, {"dropped", p.DropFiles, "#zone"}} {
			c.give(t, c.to, "mill-race.mid", filepath.Join(folder, "weir.mid"))
			p.WaitFor(t, `document.querySelector("output").textContent.includes("`+c.how+`")`)
			want := c.how + " true mill-race.mid 4 MThd\n" + c.how + " true weir.mid 9 MThd weir"
			if got := Eval[string](t, p, `document.querySelector("output").textContent`); got != want {
				t.Errorf("%q, want %q", got, want)
			}
		}
	}
	p := b.Open(t, serve(t, `<input type="file" aria-label="Songs">`, ""), Laptop)
	failures := record(t, func(t testing.TB) { p.Upload(t, "input", "nothing.mid") })
	if len(failures) != 1 || !strings.Contains(failures[0], "nothing.mid") {
		t.Errorf("failures %q, want one that names the missing file", failures)
	}
}

// Key names: UI Events KeyboardEvent key Values (W3C).
func TestKeysArriveByTheirNames(t *testing.T) {
	b := Start(t)
	p := b.Open(t, serve(t, `<input id="first" aria-label="First"><input id="second" aria-label="Second"><output></output>`, `
		document.addEventListener("keydown", (event) => {
			const held = ["ctrlKey", "altKey", "metaKey", "shiftKey"].filter((m) => event[m]);
			document.querySelector("output").textContent += [...held, event.key].join(" ") + "|";
		});
		document.querySelector("#first").focus();`), Laptop)
	p.Press(t, "Tab")
	if id := Eval[string](t, p, `document.activeElement.id`); id != "second" {
		t.Errorf("Tab leads to %q, want second", id)
	}
	p.Press(t, "Shift+Tab", "a", "Space", "B", "+", "ArrowLeft", "Control+k", "Control+Shift+ArrowRight", "Alt+Home", "Escape", "Enter")
	const want = "Tab|shiftKey Tab|a| |shiftKey B|shiftKey +|ArrowLeft|ctrlKey k|ctrlKey shiftKey ArrowRight|altKey Home|Escape|Enter|"
	if got := Eval[string](t, p, `document.querySelector("output").textContent`); got != want {
		t.Errorf("keys %q, want %q", got, want)
	}
	if got := Eval[string](t, p, `document.querySelector("#first").value`); got != "a B+" {
		t.Errorf("the field holds %q, want %q", got, "a B+")
	}
}

func TestKeyNamesAreReadOrRefused(t *testing.T) {
	for _, c := range []struct {
		key       string
		want      rune
		modifiers int
		refused   bool
	}{
		{"a", 'a', 0, false},
		{"é", 'é', 0, false},
		{"+", '+', 0, false},
		{"Control++", '+', 1, false},
		{"Space", ' ', 0, false},
		{"Enter", '\r', 0, false},
		{"Control+Alt+Delete", namedKeys()["Delete"], 2, false},
		{"", 0, 0, true},
		{"Control+", 0, 0, true},
		{"Crank", 0, 0, true},
		{"Hyper+a", 0, 0, true},
	} {
		r, modifiers, err := parseKey(c.key)
		if (err != nil) != c.refused || r != c.want || !c.refused && len(modifiers) != c.modifiers {
			t.Errorf("parseKey(%q) = %q, %v, %v", c.key, r, modifiers, err)
		}
	}
}

// Pointer Events (W3C): pointerType tells a finger from a mouse.
func TestClickIsATapOnATouchScreen(t *testing.T) {
	b := Start(t)
	for _, c := range []struct {
		view View
		want string
	}{{Phone, "touch"}, {Laptop, "mouse"}} {
		p := b.Open(t, serve(t, `<svg width="20" height="1500"></svg><button>Turn</button><output></output>`,
			`document.querySelector("button").addEventListener("click", (event) => { document.querySelector("output").textContent = event.pointerType; });`), c.view)
		p.Click(t, "button")
		p.WaitFor(t, `document.querySelector("output").textContent !== ""`)
		if got := p.Text(t, "output"); got != c.want {
			t.Errorf("pointer %q, want %q", got, c.want)
		}
	}
}

func TestTypedTextReplacesWhatAFieldHolds(t *testing.T) {
	b := Start(t)
	p := b.Open(t, serve(t, `<input id="title" aria-label="Title" value="Weir">
		<input id="tempo" type="number" aria-label="Tempo" value="30">
		<textarea id="note" aria-label="Note">None</textarea>`, ""), Laptop)
	for selector, text := range map[string]string{"#title": "Mill Race – für Ähren ♪", "#tempo": "84.5", "#note": ""} {
		p.Type(t, selector, text)
		if got := Eval[string](t, p, `document.querySelector("`+selector+`").value`); got != text {
			t.Errorf("%s holds %q, want %q", selector, got, text)
		}
	}
}

func TestDragCarriesThePointerAcross(t *testing.T) {
	b := Start(t)
	p := b.Open(t, serve(t, `<p><button id="from">From</button></p><p><button id="to">To</button></p><output></output>`, `
		let from = "";
		document.addEventListener("pointerdown", (event) => { from = event.target.id; });
		document.addEventListener("pointerup", (event) => { document.querySelector("output").textContent = from + " " + event.target.id; });`), Laptop)
	p.Drag(t, "#from", "#to")
	p.WaitFor(t, `document.querySelector("output").textContent === "from to"`)
}

func TestStepThatCannotBeTakenSaysSo(t *testing.T) {
	b := Start(t)
	p := b.Open(t, serve(t, "", ""), Laptop)
	failures := record(t, func(t testing.TB) {
		p.Do(t, "follow the lane", chromedp.Evaluate[chromedp.Void](`lane.follow()`))
	})
	if len(failures) != 1 || !strings.HasPrefix(failures[0], "cannot follow the lane: ") {
		t.Errorf("failures %q, want one that names the step", failures)
	}
}
