package browsertest

import "testing"

// misnamed lists buttons and links by names that do not say what they do: none at
// all, a word that could stand for anything, or the name of another link that
// leads elsewhere. In a row of a table the row's header says the rest.
const misnamed = `(() => {
	const nameOf = (e) => ((e.getAttribute("aria-labelledby") ?? "").split(" ").map((id) => document.getElementById(id)?.textContent ?? "").join(" ").trim()
		|| e.ariaLabel || [...e.querySelectorAll("img, svg")].map((i) => i.getAttribute("alt") || i.ariaLabel || "").join(" ") + " " + e.textContent).replace(/\s+/g, " ").trim();
	const vague = new Set(["here", "show", "open", "more", "go", "see", "view", "click here", "link", "details", "edit", "change", "ok", "submit"]);
	const led = new Map(), wrong = [];
	for (const e of document.querySelectorAll("button, a[href], summary, [role=button]")) {
		if (!e.checkVisibility()) continue;
		const name = nameOf(e);
		if (!name) wrong.push("no name: " + e.outerHTML.slice(0, 90));
		if (e.closest("tr")?.querySelector("th")) continue;
		if (vague.has(name.toLowerCase().replace(/[.…]+$/, ""))) wrong.push("“" + name + "” does not say what it does: " + e.outerHTML.slice(0, 90));
		if (!e.matches("a[href]")) continue;
		if (led.has(name) && led.get(name) !== e.href) wrong.push("“" + name + "” leads to " + led.get(name) + " and to " + e.href);
		led.set(name, e.href);
	}
	return wrong;
})()`

// Misnamed says which buttons and links of the page do not say by their names
// what they do.
func (p *Page) Misnamed(t testing.TB) []string {
	t.Helper()
	return Eval[[]string](t, p, misnamed)
}
