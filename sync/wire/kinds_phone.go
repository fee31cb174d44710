package wire

import "unsling/engine/rom"

// phoneKinds are those that only a phone writes.
var phoneKinds = []KindInfo{
	kind[rom.Session](KindSession, true, false),
	kind[rom.Pain](KindPain, true, false),
	kind[rom.Sign](KindSign, true, false),
	kind[rom.SlingReport](KindSling, true, false),
	kind[rom.Question](KindQuestion, true, false),
	kind[rom.Adopted](KindAdopted, true, false),
	kind[rom.Install](KindInstall, true, false),
}
