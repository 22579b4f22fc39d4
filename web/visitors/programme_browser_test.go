package visitors_test

import (
	"context"
	"fmt"
	"math"
	"net/url"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/input"
	"github.com/chromedp/chromedp"

	"pinwright/web"
	"pinwright/web/browsertest"
	"pinwright/web/webtest"
	"pinwright/wheel/programme"
)

// manySongs is a programme of so many songs, told apart by their plays, from 1.
func manySongs(t *testing.T, n int) *webtest.App {
	t.Helper()
	a := webtest.StartDemo(t, web.New)
	a.SetSong(t, "Nine Knocks", url.Values{"tempo": {"80"}})
	body := programme.Programme{Name: "Sunday"}
	for i := range n {
		body.Songs = append(body.Songs, programme.Song{PinningID: 1, TempoBPM: 76.5, Turns: 1, Plays: i + 1})
	}
	if _, err := a.Store.AddProgramme(t.Context(), 1, programme.Change{Text: "begin", Programme: body}); err != nil {
		t.Fatal(err)
	}
	return a
}

func order(t *testing.T, a *webtest.App) (plays []int) {
	t.Helper()
	p, err := a.Store.Programme(context.Background(), 1)
	if err != nil {
		t.Fatal(err)
	}
	for _, song := range p.Body.Songs {
		plays = append(plays, song.Plays)
	}
	return plays
}

// open opens songs of the page, as a click on their lines does.
func open(t *testing.T, page *browsertest.Page, songs ...int) {
	t.Helper()
	for _, song := range songs {
		page.Click(t, fmt.Sprintf("#song-%d summary", song))
		page.WaitFor(t, fmt.Sprintf(`document.querySelector("#song-%d details").open`, song))
	}
}

// pointer is a mouse or a finger held on a page.
type pointer struct {
	page     *browsertest.Page
	touch    bool
	x, y     float64
	scrolled float64 // how far the page was when it was pressed
}

// hold presses on the middle of a song's grip, with the grip in the middle of the
// window where the page is long enough.
func hold(t *testing.T, page *browsertest.Page, touch bool, song int) *pointer {
	t.Helper()
	at := browsertest.Eval[[3]float64](t, page, fmt.Sprintf(`(() => {
		const grip = document.querySelector("#song-%d [data-grip]");
		grip.scrollIntoView({ block: "center" });
		const { x, y, width, height } = grip.getBoundingClientRect();
		return [x + width / 2, y + height / 2, window.scrollY];
	})()`, song))
	p := &pointer{page, touch, at[0], at[1], at[2]}
	p.send(t, "press", input.DispatchMouseEventTypeMousePressed, input.DispatchTouchEventTypeTouchStart)
	page.WaitFor(t, `document.querySelector(".songs.folded")`)
	return p
}

func (p *pointer) to(t *testing.T, y float64) {
	t.Helper()
	p.y = y
	p.send(t, "move", input.DispatchMouseEventTypeMouseMoved, input.DispatchTouchEventTypeTouchMove)
}

func (p *pointer) letGo(t *testing.T) {
	t.Helper()
	p.send(t, "let go", input.DispatchMouseEventTypeMouseReleased, input.DispatchTouchEventTypeTouchEnd)
}

func (p *pointer) send(t *testing.T, what string, mouse input.DispatchMouseEventType, touch input.DispatchTouchEventType) {
	t.Helper()
	p.page.Do(t, what, chromedp.Func(func(ctx context.Context, target *chromedp.Target) error {
		if !p.touch {
			_, err := cdp.Call(ctx, target, input.DispatchMouseEvent, input.DispatchMouseEventParams{Type: mouse, X: p.x, Y: p.y, Button: input.MouseButtonLeft, Buttons: 1, ClickCount: 1})
			return err
		}
		at := []*input.TouchPoint{{X: p.x, Y: p.y}}
		if touch == input.DispatchTouchEventTypeTouchEnd {
			at = []*input.TouchPoint{}
		}
		_, err := cdp.Call(ctx, target, input.DispatchTouchEvent, input.DispatchTouchEventParams{Type: touch, TouchPoints: at})
		return err
	}))
}

// gripUnderIt fails t unless the dragged song's grip is where the pointer is.
func (p *pointer) gripUnderIt(t *testing.T) {
	t.Helper()
	if under := browsertest.Eval[bool](t, p.page, fmt.Sprintf(`(() => {
		const { top, bottom, left, right } = document.querySelector(".dragged [data-grip]").getBoundingClientRect();
		return top <= %[2]g && %[2]g <= bottom && left <= %[1]g && %[1]g <= right;
	})()`, p.x, p.y)); !under {
		t.Errorf("at %g, %g the grip is not under the pointer", p.x, p.y)
	}
}

// Songs are one line each, some of them open. Whatever the pointer and the size of
// the window, a song goes from one end of eight to the other and back, and by one
// place.
func TestProgrammeSongsAreDraggedDownAndUp(t *testing.T) {
	b := browsertest.Start(t)
	for name, c := range map[string]struct {
		view  browsertest.View
		touch bool
	}{
		"laptop, mouse": {browsertest.Laptop, false},
		"laptop, touch": {browsertest.View{WidthPX: 1440, HeightPX: 900, Touch: true}, true},
		"phone, mouse":  {browsertest.View{WidthPX: 390, HeightPX: 844}, false},
		"phone, touch":  {browsertest.Phone, true},
	} {
		t.Run(name, func(t *testing.T) {
			a := manySongs(t, 8)
			page := b.Open(t, a.URL+"/programmes/1", c.view)
			for _, move := range []struct {
				what string
				song int
				hold func(t *testing.T, p *pointer)
				want []int
			}{
				{"to the end", 1, func(t *testing.T, p *pointer) {
					p.to(t, p.y+30)
					p.gripUnderIt(t)
					p.to(t, float64(c.view.HeightPX-2))
					page.WaitFor(t, `document.querySelector("#songs > :last-child").matches(".dragged")`)
					p.gripUnderIt(t)
				}, []int{2, 3, 4, 5, 6, 7, 8, 1}},
				{"to the start", 8, func(t *testing.T, p *pointer) {
					p.to(t, 2)
					page.WaitFor(t, `document.querySelector("#songs > :first-child").matches(".dragged")`)
					p.gripUnderIt(t)
				}, []int{1, 2, 3, 4, 5, 6, 7, 8}},
				{"down by one", 4, func(t *testing.T, p *pointer) {
					p.to(t, browsertest.Eval[float64](t, page, `(({ top, height }) => top + height / 2 + 4)(document.querySelector("#song-5").getBoundingClientRect())`))
					p.gripUnderIt(t)
				}, []int{1, 2, 3, 5, 4, 6, 7, 8}},
				{"up by one", 5, func(t *testing.T, p *pointer) {
					p.to(t, browsertest.Eval[float64](t, page, `(({ top, height }) => top + height / 2 - 4)(document.querySelector("#song-4").getBoundingClientRect())`))
				}, []int{1, 2, 3, 4, 5, 6, 7, 8}},
			} {
				moved := order(t, a)[move.song-1]
				open(t, page, 1, 4)
				p := hold(t, page, c.touch, move.song)
				p.gripUnderIt(t)
				move.hold(t, p)
				p.letGo(t)
				page.WaitFor(t, fmt.Sprintf(`location.search === "?moved=%d" && !document.querySelector(".folded") && document.readyState === "complete"`, 1+slices.Index(move.want, moved)))
				if got := order(t, a); !slices.Equal(got, move.want) {
					t.Fatalf("%s: the order is %v, want %v", move.what, got, move.want)
				}
			}
		})
	}
}

// Escape, or a pointer that the system takes away, puts a song back, and the page
// to where it stood.
func TestProgrammeDragIsGivenUpByEscape(t *testing.T) {
	a := manySongs(t, 24)
	page := browsertest.Start(t).Open(t, a.URL+"/programmes/1", browsertest.Laptop)
	p := hold(t, page, false, 16)
	p.to(t, float64(browsertest.Laptop.HeightPX-2))
	page.WaitFor(t, `document.querySelector("#songs > :last-child").matches(".dragged")`)
	page.Screenshot(t, "programme-dragged-laptop")
	page.Press(t, "Escape")
	page.WaitFor(t, `!document.querySelector(".folded, .dragged") && [...document.querySelectorAll("#songs > .song")].every((song, i) => song.id === "song-" + (i + 1))`)
	p.letGo(t)
	if now := browsertest.Eval[float64](t, page, `window.scrollY`); math.Abs(now-p.scrolled) > 1 || now == 0 {
		t.Errorf("the page stands at %g px, and stood at %g", now, p.scrolled)
	}
	if got := order(t, a); !slices.IsSorted(got) || len(got) != 24 {
		t.Errorf("the order is %v", got)
	}
	if style := browsertest.Eval[string](t, page, `document.querySelector("#songs").style.paddingBlock + document.querySelector("#song-16").style.transform`); style != "" {
		t.Errorf("it leaves %q behind", style)
	}
}

// At the edge of the window the page glides or, for those who asked for less
// motion, goes in few steps.
func TestProgrammeScrollsInStepsWithReducedMotion(t *testing.T) {
	for _, c := range []struct {
		view  browsertest.View
		still bool
	}{{browsertest.Phone, false}, {browsertest.Phone.HeldStill(), true}} {
		a := manySongs(t, 24)
		page := browsertest.Start(t).Open(t, a.URL+"/programmes/1", c.view)
		p := hold(t, page, true, 1)
		page.Do(t, "listen", chromedp.Evaluate[chromedp.Void](`(() => {
			globalThis.steps = [];
			let last = window.scrollY;
			addEventListener("scroll", () => { steps.push(window.scrollY - last); last = window.scrollY; });
		})()`))
		p.to(t, float64(c.view.HeightPX-2))
		page.WaitFor(t, `globalThis.steps.length >= 3`)
		steps := browsertest.Eval[[]float64](t, page, `globalThis.steps.slice(0, 3)`)
		if inSteps := slices.Min(steps) >= 100; inSteps != c.still {
			t.Errorf("reduced motion %t: it scrolls by %v px", c.still, steps)
		}
		page.Screenshot(t, "programme-dragged-phone")
		page.Press(t, "Escape")
		p.letGo(t)
	}
}

// What is typed and not kept is said to be so, and does not go without a word; it
// is kept, and no question is asked, by the form's own buttons and by dragging.
func TestProgrammeAsksBeforeTypedWordsAreLost(t *testing.T) {
	a := manySongs(t, 8)
	page := browsertest.Start(t).Open(t, a.URL+"/programmes/1", browsertest.Laptop)
	open(t, page, 1, 2)
	const unkept = `document.querySelector("[data-unkept]").textContent === "Not kept yet"`
	kept := `!(` + unkept + `)`
	page.WaitFor(t, kept)
	page.Type(t, "#by", "Ada")
	page.Type(t, "#story-1", "Nine")
	page.WaitFor(t, unkept)
	page.Type(t, "#story-1", "")
	page.WaitFor(t, kept)
	page.Type(t, "#story-1", "Nine knocks")
	page.WaitFor(t, unkept)
	page.Axe(t)
	page.Screenshot(t, "programme-unkept")

	page.Click(t, "nav.trail a")
	deadline := time.Now().Add(10 * time.Second)
	for asked := false; !asked; {
		for _, trouble := range page.Troubles(t) {
			if asked = strings.Contains(trouble, "beforeunload"); !asked {
				t.Error(trouble)
			}
		}
		if !asked && time.Now().After(deadline) {
			t.Fatal("the page is left without a question")
		}
	}
	if got := browsertest.Eval[string](t, page, `location.pathname + " " + document.querySelector("#story-1").value`); got != "/programmes/1 Nine knocks" {
		t.Fatalf("after the question: %s", got)
	}

	page.Click(t, `[data-unkept]`) // the focus leaves the field
	page.Click(t, `.keep-programme button`)
	page.WaitFor(t, `document.readyState === "complete" && document.querySelector("#story-1").defaultValue === "Nine knocks" && `+kept)

	open(t, page, 2)
	page.Type(t, "#story-2", "At the mill door")
	p := hold(t, page, false, 2)
	p.to(t, 2)
	page.WaitFor(t, `document.querySelector("#songs > :first-child").matches(".dragged")`)
	p.letGo(t)
	page.WaitFor(t, `document.readyState === "complete" && document.querySelector("#story-1").defaultValue === "At the mill door" && `+kept)

	open(t, page, 1)
	page.Type(t, "#tempo-1", "fast")
	page.Press(t, "Enter")
	page.WaitFor(t, `document.querySelector(".problem")?.textContent.includes("it should be a number") && document.querySelector("#song-1 details").open && `+unkept)
	for _, trouble := range page.Troubles(t) {
		if !strings.Contains(trouble, "422") {
			t.Error(trouble)
		}
	}
}

// Songs change places by dragging their grips and, without a pointer, by their
// buttons, which keep the focus.
func TestProgrammeIsReorderedByDraggingAndByKeys(t *testing.T) {
	a := withProgramme(t)
	page := browsertest.Start(t).Open(t, a.URL+"/programmes/1", browsertest.View{WidthPX: 1440, HeightPX: 2200})
	page.Drag(t, "#song-2 [data-grip]", "#songs-title")
	page.WaitFor(t, `document.querySelector("#song-1 h3")?.textContent === "Nine Knocks" && document.readyState === "complete"`)
	if got := strings.Join(songTitles(t, a), ", "); got != "Nine Knocks, Mill Race" {
		t.Errorf("after dragging: %s", got)
	}
	page.Do(t, "focus", chromedp.Focus(chromedp.CSS(`#song-1 button[value="down 1"]`)))
	page.Press(t, "Enter")
	page.WaitFor(t, `location.search.includes("moved=2") && document.activeElement?.value === "up 2"`) // it is the last now, and can go up alone
	if got := strings.Join(songTitles(t, a), ", "); got != "Mill Race, Nine Knocks" {
		t.Errorf("after the key: %s", got)
	}
}
