package screen

import (
	"unsling/app/figure"
	"unsling/app/words"
)

// viewHelper is the page to show to whoever helps at home.
func (a *App) viewHelper() []topic {
	carry := topic{ID: "carry", Title: a.t(words.CarryTitle), Lines: a.texts(words.Carry1, words.Carry2, words.Carry3, words.Carry4)}
	carry.Pictures = []string{a.daily(figure.HelperCarry, carry.Title)}
	stand := topic{ID: "stand", Title: a.t(words.StandTitle), Lines: a.texts(words.Stand1, words.Stand2, words.Stand3, words.Stand4)}
	stand.Pictures = []string{a.daily(figure.HelperStand, stand.Title)}
	return []topic{carry, stand}
}
