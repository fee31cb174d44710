package review

// held replays a rule over n moments in order of time: it is entered when
// enter says so and stays until leave does, so that a value that swings about
// one threshold does not make a finding flicker. since is the moment at which
// it was entered last.
func held(n int, enter, leave func(i int) bool) (on bool, since int) {
	for i := range n {
		switch {
		case !on && enter(i):
			on, since = true, i
		case on && leave(i):
			on = false
		}
	}
	return on, since
}
