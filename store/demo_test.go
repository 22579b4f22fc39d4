package store

import (
	"context"
	"testing"
)

func TestTheDemoIsAddedOnceAndForAll(t *testing.T) {
	ctx := context.Background()
	s := openNew(t)
	for range 2 {
		if added, err := s.DemoAdded(ctx); err != nil || added {
			t.Fatalf("a new store says %v (%v)", added, err)
		}
	}
	for range 2 {
		if err := s.SetDemoAdded(ctx); err != nil {
			t.Fatal(err)
		}
		if added, err := s.DemoAdded(ctx); err != nil || !added {
			t.Fatalf("after it was added the store says %v (%v)", added, err)
		}
	}
}
