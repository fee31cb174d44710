package words

// Words of the time before the operation, with two good hands.
var (
	PracticeTitle = Text{"Practise a session", "Practicar una sesión"}
	PracticeSub   = Text{"One short try with your good arm.", "Una prueba corta con el brazo sano."}
	PracticeMark  = Text{"Practice. Nothing is counted.", "Práctica. Nada se cuenta."}
	PracticeArm   = Text{"Use the %s arm. Stop if it hurts.", "Use el brazo %s. Pare si duele."}
	PracticePain  = Text{"Sore already? Stop if it gets worse.", "¿Ya le duele? Pare si empeora."}
	PracticeEnd   = Text{"That was the practice", "Esa fue la práctica"}
	PracticeDo    = Text{"Your sessions go just like this. Try again when you like.", "Sus sesiones serán así. Repita cuando quiera."}
	PracticeKept  = Text{"Nothing was counted or sent.", "Nada se contó ni se envió."}
	PracticeTold  = Text{"Practice. What you told us goes to the clinic.", "Práctica. Lo que nos contó va a la clínica."}
	PracticeShut  = Text{"The practice has ended. Look at today's page.", "La práctica terminó. Mire la página de hoy."}
	PracticeWrong = Text{"Do no exercises. Rest the arm.", "Sin ejercicios. Descanse el brazo."}

	DoneOn       = Text{"Done: %s. Again when you like.", "Hecho: %s. Repita cuando quiera."}
	BaselineLeft = Text{"Still to do, if you like", "Falta, si quiere"}
	BaselineDone = Text{"Already measured", "Ya medido"}
	BaselineSome = Text{"%d of %d measured. No hurry.", "%d de %d medidos. Sin prisa."}
	BaselineEasy = Text{"Only as far as is easy. Stop before it hurts.", "Solo hasta donde sea fácil. Pare antes de que duela."}
	KeepsAll     = Text{"What you have done here stays.", "Lo que hizo aquí se queda."}
	OfArm        = Text{"%s, %s arm", "%s, brazo %s"}

	TryTitle = Text{"Tick what you have tried", "Marque lo que ya probó"}
	TryOnly  = Text{"Only for you. It stays on this phone.", "Solo para usted. Se queda en este teléfono."}
	TrySome  = Text{"%d of %d tried. No hurry.", "%d de %d probados. Sin prisa."}

	EarlierToo = Text{"Planned from %s. You may start now.", "Prevista desde las %s. Puede empezar ya."}
	NotBefore  = Text{"You may start from %s. Rest the arm until then.", "Puede empezar desde las %s. Descanse el brazo hasta entonces."}
)

// tries are what is tried with the sling before the operation, by their keys.
var tries = []struct {
	key  string
	text Text
}{
	{"level", Text{"My hand lies a bit higher than my elbow", "Mi mano queda algo más alta que el codo"}},
	{"hand", Text{"I can see my whole hand", "Veo toda mi mano"}},
	{"strap", Text{"I can close the strap", "Puedo cerrar la cinta"}},
	{"off", Text{"Someone helped me take it off", "Alguien me ayudó a quitarlo"}},
	{"dress", Text{"I got dressed with one hand", "Me vestí con una mano"}},
	{"sleep", Text{"I lay half sitting, with pillows", "Me acosté medio sentado, con almohadas"}},
}

// Tries lists the keys of what is tried with the sling, in their order.
func Tries() []string {
	var out []string
	for _, x := range tries {
		out = append(out, x.key)
	}
	return out
}

// Try returns one of Tries in words; "" if unknown.
func Try(l Lang, key string) string {
	for _, x := range tries {
		if x.key == key {
			return x.text.In(l)
		}
	}
	return ""
}
