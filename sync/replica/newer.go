package replica

import "unsling/sync/wire"

// NeedsUpdate reports whether the clinic has written a plan, an episode or a
// clearance in a version that this program does not read. Such a record is
// kept and skipped, and what the phone then follows is an older one: whoever
// holds the phone has to be told to update the app, and to ring the clinic
// before going on. It turns false by itself once a program that reads the
// record folds the same log.
func (f *Folder) NeedsUpdate() bool {
	for _, r := range f.records {
		if !r.unknown || !r.Author.FromClinic() {
			continue
		}
		switch r.Kind {
		case wire.KindPlan, wire.KindEpisode, wire.KindClearance:
			return true
		}
	}
	return false
}
