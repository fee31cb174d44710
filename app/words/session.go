package words

import "unsling/engine/rom"

// Words of the guided session.
var (
	PainNow      = Text{"How much does it hurt now?", "¿Cuánto le duele ahora?"}
	PainAfterAsk = Text{"How much does it hurt now, after the session?", "¿Cuánto le duele ahora, después de la sesión?"}
	PainSkip     = Text{"I do not want to say", "Prefiero no decirlo"}
	PainCapRule  = Text{"Stop if it goes above %d.", "Pare si pasa de %d."}

	ExerciseOf = Text{"Exercise %d of %d", "Ejercicio %d de %d"}
	HoldOf     = Text{"Hold %d of %d", "Vez %d de %d"}
	RepOf      = Text{"Round %d of %d", "Vuelta %d de %d"}
	DoseHolds  = Text{"%d times, hold %d seconds", "%d veces, mantener %d segundos"}
	DoseRounds = Count{Text{"1 round", "1 vuelta"}, Text{"%d rounds", "%d vueltas"}}
	LimitHere  = Text{"No further than %d degrees", "No más de %d grados"}
	AimHere    = Text{"Stop at %d degrees", "Pare a los %d grados"}
	FeelTitle  = Text{"How it should feel", "Cómo debe sentirse"}
	AvoidTitle = Text{"Avoid", "Evite"}

	StateReady    = Text{"Get ready", "Prepárese"}
	StateMove     = Text{"Move slowly", "Mueva despacio"}
	StateHold     = Text{"Hold", "Mantenga"}
	StateRest     = Text{"Rest", "Descanse"}
	StatePaused   = Text{"Paused", "En pausa"}
	SecondsUnit   = Text{"seconds", "segundos"}
	StartSession  = Text{"Start", "Empezar"}
	ButtonThere   = Text{"I am there", "Ya llegué"}
	ButtonDone    = Text{"Done", "Hecho"}
	ButtonRep     = Text{"One more done", "Una hecha"}
	ButtonNext    = Text{"Next", "Siguiente"}
	ButtonLonger  = Text{"Longer rest", "Más descanso"}
	ButtonPause   = Text{"Pause", "Pausa"}
	ButtonGoOn    = Text{"Go on", "Seguir"}
	ButtonSkip    = Text{"Skip this one", "Saltar este"}
	ByTapOn       = Text{"Count by tap, no timer", "Contar con toques, sin reloj"}
	ByTapOff      = Text{"Use the timer", "Usar el reloj"}
	MedicineAsk   = Text{"Pain pill taken?", "¿Tomó calmante?"}
	HelperAsk     = Text{"Someone helps me", "Me ayuda alguien"}
	MeasureInHold = Text{"Measure this hold", "Medir esta vez"}
	MoveFigure    = Text{"Move the picture", "Mover el dibujo"}

	StopTitle    = Text{"Why do you stop?", "¿Por qué para?"}
	StopPain     = Text{"Too much pain", "Demasiado dolor"}
	StopWrong    = Text{"Something is wrong", "Algo va mal"}
	StopWrongSub = Text{"A pop, sharp pain, a weak arm or a fall", "Un chasquido, dolor fuerte, brazo débil o caída"}
	StopTired    = Text{"I am tired", "Estoy cansado"}
	StopNoTime   = Text{"No time now", "Ahora no tengo tiempo"}
	StopOther    = Text{"Another reason", "Otro motivo"}
	StopNot      = Text{"Do not stop, go on", "No parar, seguir"}

	SkipTitle    = Text{"Why leave it out?", "¿Por qué lo salta?"}
	SkipPain     = Text{"It hurts", "Duele"}
	SkipTired    = Text{"I am tired", "Estoy cansado"}
	SkipNoTime   = Text{"No time", "Sin tiempo"}
	SkipNoHelper = Text{"Nobody can help me now", "Nadie puede ayudarme ahora"}
	SkipAfraid   = Text{"I do not trust it yet", "Aún no me fío"}
	SkipNoPlace  = Text{"No place for it here", "Aquí no hay sitio"}

	EndTitle      = Text{"Done", "Listo"}
	EndStopped    = Text{"Stopped for now", "Parado por ahora"}
	EndCount      = Text{"You did %d of %d.", "Hizo %d de %d."}
	EndFor        = Text{"This keeps your shoulder from getting stiff.", "Esto evita que el hombro se ponga rígido."}
	EndForHand    = Text{"This keeps your hand and elbow loose.", "Esto mantiene sueltos la mano y el codo."}
	EndPart       = Text{"What you did counts. Start with the next one later.", "Lo hecho cuenta. Empiece luego con la próxima."}
	EndHome       = Text{"Back to today", "Volver a hoy"}
	EndPainTip    = Text{"Put on ice with a cloth if it is sore.", "Ponga hielo con un paño si está dolorido."}
	StopRestTitle = Text{"Stopped. Rest the arm.", "Parado. Descanse el brazo."}
	StopRestDo    = Text{"Call the clinic if the pain is not down by tomorrow.", "Llame a la clínica si mañana no duele menos."}
	WrongTitle    = Text{"Stop. Call now.", "Pare. Llame ya."}
	WrongDo       = Text{"Put the arm in the sling. Do no exercises.", "Ponga el brazo en el cabestrillo. Sin ejercicios."}
	CallTodayDo   = Text{"Stop this stretch. Call the clinic today.", "Pare este estiramiento. Llame hoy a la clínica."}
	NothingToDo   = Text{"There is nothing to do now.", "Ahora no hay nada que hacer."}
	ScreenOff     = Text{"This phone may switch the screen off. Tones go on if it can.", "El teléfono puede apagar la pantalla. Los tonos siguen si puede."}
	CannotStart   = Text{"This session cannot start. Call the clinic.", "Esta sesión no puede empezar. Llame a la clínica."}
)

// guided are the sentences and cues of the session, by the keys of the engine.
var guided = map[string]Text{
	"session.paused":      {"Paused. Put the arm down.", "En pausa. Baje el brazo."},
	"session.suspended":   {"The phone slept. Start again at the same hold.", "El teléfono se durmió. Siga en la misma vez."},
	"session.resumed":     {"Welcome back. You go on at the same hold.", "Hola de nuevo. Sigue en la misma vez."},
	"session.still-there": {"Are you still there? Tap when you are ready.", "¿Sigue ahí? Toque cuando esté listo."},
	"session.pain-first":  {"First say how much it hurts now.", "Primero diga cuánto le duele ahora."},
	"session.pain-before": {"That is a lot of pain. Rest now. Try again later.", "Es mucho dolor. Descanse ahora. Pruebe más tarde."},
	"session.pain":        {"That is too much. Rest. Then go less far.", "Es demasiado. Descanse. Luego vaya menos lejos."},
	"session.pain-after":  {"Go less far next time. Call if it is worse tomorrow.", "Vaya menos lejos la próxima vez. Llame si mañana está peor."},
	"session.pain-stop":   {"It hurts too much today. The session ends here.", "Hoy duele demasiado. La sesión termina aquí."},
	"session.narrowed":    {"The clinic has changed your limit. Go less far.", "La clínica cambió su límite. Vaya menos lejos."},
	"session.closed":      {"The clinic has closed this exercise for now.", "La clínica cerró este ejercicio por ahora."},
	"session.by-clinic":   {"Stop. The clinic has stopped your plan.", "Pare. La clínica paró su plan."},
	"session.call-now":    {"Stop all exercises. Call the clinic now.", "Pare todos los ejercicios. Llame ahora a la clínica."},
	"session.done":        {"Done. More is not better.", "Listo. Más no es mejor."},
	"limit.close":         {"This looks close to your limit. Go less far.", "Parece cerca de su límite. Vaya menos lejos."},
	"limit.likely":        {"This may be past your limit. Leave this stretch for today.", "Puede pasar de su límite. Deje este estiramiento por hoy."},
	"limit.over":          {"Stop this stretch. Call the clinic today.", "Pare este estiramiento. Llame hoy a la clínica."},

	"say.get-ready":     {"Get ready.", "Prepárese."},
	"say.count":         {"%d", "%d"},
	"say.move":          {"Move slowly to where it first feels tight.", "Mueva despacio hasta donde empiece a tirar."},
	"say.hold":          {"Hold for %d seconds. Keep breathing.", "Mantenga %d segundos. Siga respirando."},
	"say.half":          {"Half way.", "La mitad."},
	"say.left":          {"%d seconds left.", "Quedan %d segundos."},
	"say.rest":          {"Rest for %d seconds.", "Descanse %d segundos."},
	"say.back":          {"Come back slowly.", "Vuelva despacio."},
	"say.next-exercise": {"Next exercise.", "Siguiente ejercicio."},
	"say.ask-pain":      {"How much does it hurt now?", "¿Cuánto le duele ahora?"},
}

// Guided returns a sentence of the guided session by its key; "" if unknown.
// n fills the number where there is one.
func Guided(l Lang, key string, n int) string {
	t, ok := guided[key]
	if !ok {
		return ""
	}
	return Count{t, t}.In(l, n)
}

// StopReason returns why a session was stopped.
func StopReason(l Lang, r rom.StopReason) string {
	switch r {
	case rom.StopPain:
		return StopPain.In(l)
	case rom.StopWrong:
		return StopWrong.In(l)
	case rom.StopTired:
		return StopTired.In(l)
	case rom.StopNoTime:
		return StopNoTime.In(l)
	}
	return StopOther.In(l)
}

// SkipReason returns why an exercise was left out; "" where the patient does
// not choose it.
func SkipReason(l Lang, r rom.SkipReason) string {
	switch r {
	case rom.SkipPain:
		return SkipPain.In(l)
	case rom.SkipTired:
		return SkipTired.In(l)
	case rom.SkipNoTime:
		return SkipNoTime.In(l)
	case rom.SkipNoHelper:
		return SkipNoHelper.In(l)
	case rom.SkipAfraid:
		return SkipAfraid.In(l)
	case rom.SkipNoPlace:
		return SkipNoPlace.In(l)
	}
	return ""
}

// More words of the session.
var (
	PainSaid   = Text{"You said %d.", "Dijo %d."}
	ButtonPain = Text{"Too much pain", "Demasiado dolor"}
	PainRested = Text{"How much does it hurt after a rest?", "¿Cuánto le duele tras descansar?"}
	AimWord    = Text{"stop here", "pare aquí"}
)

// The words on the pain scale.
var (
	PainNone   = Text{"no pain", "sin dolor"}
	PainMiddle = Text{"medium", "medio"}
	PainWorst  = Text{"worst", "lo peor"}
)
