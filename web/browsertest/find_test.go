package browsertest

import (
	"strings"
	"testing"
	"time"
)

// The names are worked by hand from Accessible Name and Description Computation
// 1.2: aria-label before content, a label's text for its field, hidden text left
// out.
func TestElementsAreFoundByRoleAndName(t *testing.T) {
	b := Start(t)
	p := b.Open(t, serve(t, `<h1>Mill Race</h1>
		<button id="a">Keep <span aria-hidden="true">→</span></button>
		<button id="b" aria-label="Keep the rest">Rest</button>
		<button id="c" hidden>Keep nothing</button>
		<label>Tempo <input id="d" type="number"></label>
		<a id="e" href="#">Edit 3 of 7</a>
		<output></output>`,
		`document.addEventListener("click", (event) => { document.querySelector("output").textContent += event.target.id; });
		setTimeout(() => { document.querySelector("h1").insertAdjacentHTML("afterend", '<button id="f">Late</button>'); }, 200);`), Laptop)
	for _, c := range []struct{ role, name, id string }{
		{"button", "Keep", "a"},
		{"button", "Keep the rest", "b"},
		{"spinbutton", "Tempo", "d"},
		{"button", "Late", "f"},
	} {
		selector := p.Find(t, c.role, c.name)
		if id := Eval[string](t, p, `document.querySelector('`+selector+`').id`); id != c.id {
			t.Errorf("%s %q is #%s, want #%s", c.role, c.name, id, c.id)
		}
	}
	if id := Eval[string](t, p, `document.querySelector('`+p.FindLike(t, "link", "Edit ")+`').id`); id != "e" {
		t.Errorf("the link is #%s", id)
	}
	p.ClickOn(t, "button", "Keep the rest")
	p.WaitFor(t, `document.querySelector("output").textContent === "b"`)
}

func TestAnElementThatIsNotThereOnceIsNamed(t *testing.T) {
	b := Start(t)
	p := b.Open(t, serve(t, `<button>Keep</button><button>Keep</button><button hidden>Undo</button>`, ""), Laptop)
	for name, want := range map[string]string{"Keep": "2 elements", "Undo": "0 elements", "Redo": `there are: "Keep"`} {
		failures := record(t, func(t testing.TB) {
			p.found(t, "button “"+name+"”", "button", time.Second, func(is string) bool { return is == name })
		})
		if len(failures) != 1 || !strings.Contains(failures[0], want) {
			t.Errorf("failures %q, want one with %q", failures, want)
		}
	}
}
