package desk

// Open is how many pinnings are open.
func (ds *Desks) Open() int {
	ds.mu.Lock()
	defer ds.mu.Unlock()
	return len(ds.open)
}
