package wheel

// CheckFits refuses a pinning that names another machine than this one
// ([ErrConflict]), or has pins where this one has no hole for them
// ([ErrInvalid]).
func (p *Pinning) CheckFits(m *Machine) error {
	if p.Machine != "" && p.Machine != m.Name {
		return Refuse(ErrConflict, "the pinning %s is for a machine called %s, and this one is called %s", p.Title, p.Machine, m.Name)
	}
	if err := p.CheckOn(m).Err(); err != nil {
		return RefuseFor(ErrInvalid, err, "the pinning %s does not fit %s: %s", p.Title, m.Name, err)
	}
	return nil
}

// CheckStillFits refuses a new file of the pinning's machine that has no hole for
// some of its pins ([ErrConflict]).
func (p *Pinning) CheckStillFits(m *Machine) error {
	if problems := p.CheckOn(m); len(problems) > 0 {
		return RefuseFor(ErrConflict, problems, "the pinning %s would no longer fit: %s; change or remove it first, or add the new file as a machine of another name", p.Title, problems[0])
	}
	return nil
}
