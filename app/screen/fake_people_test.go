package screen

// fakePeople stands for who shares the phone. Nobody but its owner does,
// unless list says more.
type fakePeople struct {
	list   []Person
	mine   string
	asks   bool
	chosen []string
	added  []string
	err    error
}

func (p *fakePeople) List() []Person { return p.list }
func (p *fakePeople) Mine() string   { return p.mine }
func (p *fakePeople) Asks() bool     { return p.asks }
func (p *fakePeople) Note(letters string) {
	for i, x := range p.list {
		if x.ID == p.mine {
			p.list[i].Letters = letters
			return
		}
	}
	p.list = append(p.list, Person{ID: p.mine, Letters: letters})
}
func (p *fakePeople) Choose(id string) error {
	p.chosen = append(p.chosen, id)
	if p.err == nil && (p.mine == "" || p.mine == id) {
		p.mine, p.asks = id, false
	}
	return p.err
}
func (p *fakePeople) Add(secret string) error {
	p.added = append(p.added, secret)
	return p.err
}

var _ People = (*fakePeople)(nil)
