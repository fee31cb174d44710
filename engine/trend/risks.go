package trend

import "unsling/engine/rom"

// Presence says whether an episode has a risk factor.
type Presence string

// The presences.
const (
	Present     Presence = "present"
	Absent      Presence = "absent"
	NotRecorded Presence = "not recorded"
)

// Risk is one published risk factor of stiffness after surgery. Factors are
// listed side by side; no score is made of them, for none was published.
type Risk struct {
	Factor  string
	Effect  string
	Present Presence
	Source  rom.Source
}

// Risks lists what is published, with what the episode tells about it.
func Risks(e rom.Episode, day rom.Date) []Risk {
	has := func(p rom.Procedure) Presence {
		if e.Has(p) {
			return Present
		}
		return Absent
	}
	labral := Absent
	for _, p := range e.Procedures {
		if p.Labral() {
			labral = Present
		}
	}
	young := NotRecorded
	if e.BornYear > 0 {
		young = Absent
		if day.Time().Year()-e.BornYear < 50 {
			young = Present
		}
	}
	return []Risk{
		{"diabetes", "odds ratio 1.51 (1.07 to 2.14); another study relative risk 5.7 (n = 65, wide)", NotRecorded, rom.Source{Key: "META2026+BLONNA2017", Mark: rom.Read}},
		{"fatty infiltration", "odds ratio 1.58 (1.08 to 2.31)", NotRecorded, read("META2026")},
		{"decompression in the same operation", "odds ratio 3.26 (1.88 to 5.65)", has(rom.SubacromialDecompression), read("META2026")},
		{"age below 50", "8.6 % became stiff; other studies find older people at risk, or protected: the sources disagree", young, rom.Source{Key: "HUBERTY2009+META2026+REV2022", Mark: rom.Memory}},
		{"underactive thyroid", "relative risk 25 of severe stiffness (n = 65, wide)", NotRecorded, read("BLONNA2017")},
		{"workers' compensation", "associated", NotRecorded, read("SCHNEIDER2021")},
		{"biceps procedure", "associated", has(rom.BicepsTenodesis), read("SCHNEIDER2021")},
		{"labral repair", "11.0 % became stiff", labral, memory("HUBERTY2009")},
		{"calcific tendinitis or capsulitis", "16.7 % and 15.0 % became stiff", NotRecorded, memory("HUBERTY2009")},
		{"high pain in week 1", "7.7 (SD 3.1) in those who became stiff, 4.5 (2.1) in others", NotRecorded, read("PMC8236012")},
		{"limited hand behind back before surgery", "best predictor at six weeks", NotRecorded, read("TRENERRY2005")},
	}
}
