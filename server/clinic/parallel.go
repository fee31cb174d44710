package clinic

import (
	"runtime"
	"sync"
)

// inParallel calls f for 0 to n-1, as many at once as there are processors, and
// returns when all have returned: the error of the lowest number, if any failed.
// f writes only what belongs to its own number.
func inParallel(n int, f func(i int) error) error {
	errs := make([]error, n)
	next := make(chan int, n)
	for i := range n {
		next <- i
	}
	close(next)
	var all sync.WaitGroup
	for range min(runtime.GOMAXPROCS(0), n) {
		all.Go(func() {
			for i := range next {
				errs[i] = f(i)
			}
		})
	}
	all.Wait()
	for _, err := range errs {
		if err != nil {
			return err
		}
	}
	return nil
}
