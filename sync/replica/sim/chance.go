package sim

// chance is a small generator (splitmix64, public domain, S. Vigna): the same
// seed gives the same run on every machine.
type chance struct{ state uint64 }

func (c *chance) next() uint64 {
	c.state += 0x9e3779b97f4a7c15
	z := c.state
	z = (z ^ z>>30) * 0xbf58476d1ce4e5b9
	z = (z ^ z>>27) * 0x94d049bb133111eb
	return z ^ z>>31
}

// below returns a number from 0 to n-1.
func (c *chance) below(n int) int { return int(c.next() % uint64(n)) }

// one reports true in one of n cases.
func (c *chance) one(n int) bool { return c.below(n) == 0 }

func (c *chance) salt() (b [16]byte) {
	for i := 0; i < 16; i += 8 {
		z := c.next()
		for j := range 8 {
			b[i+j] = byte(z >> (8 * j))
		}
	}
	return b
}

// pick returns one of list.
func pick[T any](c *chance, list []T) T { return list[c.below(len(list))] }
