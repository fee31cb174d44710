package wire

import "unsling/engine/rom"

// clinicKinds are those that only the clinic writes; each body names the
// person.
var clinicKinds = []KindInfo{
	kind[rom.Episode](KindEpisode, false, true),
	kind[rom.Plan](KindPlan, false, true),
	kind[rom.Clearance](KindClearance, false, true),
	kind[rom.Therapy](KindTherapy, false, true),
	kind[rom.Visit](KindVisit, false, true),
	kind[rom.Note](KindNote, false, true),
	kind[rom.Task](KindTask, false, true),
	kind[rom.Score](KindScore, false, true),
}
