package page

import (
	"context"
	"net/http"
	"strconv"
	"time"
)

// machineCookie is where a browser keeps which machine it works on. Each browser
// chooses for itself: a phone at one machine leaves the laptop at another.
const machineCookie = "pinwright-machine"

type choiceKey struct{}

// ReadChoice lets the handlers of a request know the machine that its browser
// chose.
func ReadChoice(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if cookie, err := r.Cookie(machineCookie); err == nil {
			if id, err := strconv.ParseInt(cookie.Value, 10, 64); err == nil && id > 0 {
				r = r.WithContext(context.WithValue(r.Context(), choiceKey{}, id))
			}
		}
		next.ServeHTTP(w, r)
	})
}

// ChooseMachine has a browser keep which machine it works on.
func ChooseMachine(w http.ResponseWriter, id int64) {
	http.SetCookie(w, &http.Cookie{
		Name: machineCookie, Value: strconv.FormatInt(id, 10), Path: "/",
		MaxAge: int((365 * 24 * time.Hour).Seconds()), HttpOnly: true, SameSite: http.SameSiteLaxMode,
	})
}

// chosen is the machine that the browser of a request chose; 0 for none.
func chosen(ctx context.Context) int64 {
	id, _ := ctx.Value(choiceKey{}).(int64)
	return id
}
