package songs

import (
	"context"
	"errors"
	"testing"
	"time"

	"pinwright/timing"
	"pinwright/web/page"
	"pinwright/web/webtest"
	"pinwright/wheel"
	"pinwright/wheel/demo"
)

func TestSurveyThatTakesTooLongAsksForFewerFiles(t *testing.T) {
	works, err := timing.Compile(demo.Machine())
	if err != nil {
		t.Fatal(err)
	}
	s := &area{Kit: page.NewKit(page.Options{})} // nothing is looked up before all are judged
	form := surveyForm{files: []page.Upload{{Name: "one.mid", Data: webtest.MIDIFile(0, "One")}}, count: 1}
	_, err = s.judged(context.Background(), works, form, time.Nanosecond)
	var refused *wheel.Error
	if !errors.As(err, &refused) || refused.Code != wheel.ErrTooLarge || refused.Message != "Judging 1 file takes longer than 45 seconds; send fewer at once." {
		t.Errorf("%v", err)
	}
	gone, cancel := context.WithCancel(context.Background())
	cancel()
	if _, err := s.judged(gone, works, form, time.Minute); !errors.Is(err, context.Canceled) {
		t.Errorf("who has gone is told %v", err)
	}
}
