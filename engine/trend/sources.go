package trend

// citations are the published sources of this package, by key. A star marks a
// citation from memory.
var citations = map[string]string{
	"BACK2014":      "Clin Shoulder Elbow 17:57-63",
	"BLONNA2017":    "Blonna D et al.*, 10.1007/s00167-015-3906-z",
	"BRISLIN2007":   "Brislin KJ et al., Arthroscopy 23:124-8",
	"CHUNG2013":     "Chung SW et al., Arthroscopy 29:290-300",
	"DESIGN":        "a choice of this program, derived; no source",
	"COMMON":        "common practice, no source",
	"GILL2020":      "Gill TK et al., BMC Musculoskelet Disord, PMC7549223",
	"HA2021":        "Ha JW et al., Clin Shoulder Elbow, PMC8423524, Table 3",
	"HUBERTY2009":   "Huberty DP et al., Arthroscopy 25:880-90",
	"KELLEY2013":    "Kelley MJ et al., J Orthop Sports Phys Ther 43:A1-31",
	"META2026":      "Am J Sports Med, 10.1177/03635465251408855",
	"NORKIN2016":    "Norkin CC, White DJ, Measurement of Joint Motion, 5th ed., Appendix A",
	"PARSONS2010":   "Parsons BO et al., J Shoulder Elbow Surg, PMID 20655763",
	"PMC2504264":    "PMC2504264, stiff shoulders and their resolution",
	"PMC6558857":    "PMC6558857, Table 1: standard error of measurement and detectable change",
	"PMC8236012":    "PMC8236012, stiffness at three months and early pain",
	"REV2022":       "10.1186/s12891-022-05030-4, review",
	"SCHNEIDER2021": "Schneider WR et al., JSES Int, PMC7846695",
	"SCIREP2022":    "Sci Rep, 10.1038/s41598-022-07123-5, PMC8873420",
	"SOUCIE2011":    "Soucie JM et al., Haemophilia 17:500-7",
	"TAURO2006":     "Tauro JC, Arthroscopy, PMID 16762694",
	"TRENERRY2005":  "Trenerry K et al., Clin Orthop, PMID 15662309",
	"VAIRO2012":     "Vairo GL et al., 10.1186/1758-2555-4-33, Table 4",
	"THIGPEN2016":   "Thigpen CA et al., J Shoulder Elbow Surg 25:521-35",
	"GAUNT2010":     "Gaunt BW et al.*, J Orthop Sports Phys Ther 40:155-68",
	"CONSTANT1987":  "Constant CR, Murley AH, Clin Orthop 214:160-4",
	"CONSTANT2008":  "Constant CR et al., J Shoulder Elbow Surg 17:355-61",
	"RICHARDS1994":  "Richards RR et al., J Shoulder Elbow Surg 3:347-52",
}

// Citation returns the source behind one key; ok is false for a key that this
// package does not use.
func Citation(key string) (text string, ok bool) {
	text, ok = citations[key]
	return text, ok
}
