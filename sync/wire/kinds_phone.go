package wire

import "unsling/engine/rom"

// phoneKinds are those that a phone writes. Sessions and pain scores of a
// paper log are written down by the clinic.
var phoneKinds = []KindInfo{
	kind[rom.Session](KindSession, true, true),
	kind[rom.Pain](KindPain, true, true),
	kind[rom.Sign](KindSign, true, false),
	kind[rom.SlingReport](KindSling, true, false),
	kind[rom.Question](KindQuestion, true, false),
	kind[rom.Adopted](KindAdopted, true, false),
	kind[rom.Install](KindInstall, true, false),
}
