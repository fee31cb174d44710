package words

import "unsling/engine/rom"

// Words of the page of the week.
var (
	WeekTitle    = Text{"Your week", "Su semana"}
	WeekWell     = Text{"What went well", "Lo que fue bien"}
	WeekHeld     = Count{Text{"You held for 1 minute.", "Mantuvo 1 minuto."}, Text{"You held for %d minutes.", "Mantuvo %d minutos."}}
	WeekMeasured = Count{Text{"You measured 1 time.", "Midió 1 vez."}, Text{"You measured %d times.", "Midió %d veces."}}
	WeekDone     = Count{Text{"You did 1 session.", "Hizo 1 sesión."}, Text{"You did %d sessions.", "Hizo %d sesiones."}}
	WeekMore     = Text{"%s: %d degrees more than before.", "%s: %d grados más que antes."}
	WeekQuiet    = Text{"Each week is new. Start with the next session.", "Cada semana es nueva. Empiece por la próxima sesión."}
	WeekRest     = Text{"Your arm heals on quiet days too.", "El brazo también sana en los días tranquilos."}
	WeekChanges  = Text{"What changes", "Lo que cambia"}
	WeekPlanNew  = Text{"Your clinic changed your plan %s.", "Su clínica cambió su plan %s."}
	WeekNextDate = Text{"From %s: %s", "Desde el %s: %s"}
	WeekNextWord = Text{"Later, when your clinic says so: %s", "Más adelante, cuando la clínica lo diga: %s"}
	WeekSame     = Text{"Nothing changes for now.", "Por ahora no cambia nada."}
	WeekVisit    = Text{"Next visit", "Próxima visita"}
	WeekVisitOn  = Text{"Your next visit is %s.", "Su próxima visita es %s."}
	WeekVisitNo  = Text{"No date is known here. Ask your clinic.", "Aquí no consta la fecha. Pregunte a su clínica."}
	WeekTake     = Text{"Questions to take there", "Preguntas para llevar"}
	WeekTakeNone = Text{"Nothing noted yet.", "Aún no hay nada anotado."}
	WeekAsk      = Text{"Note a question", "Anotar una pregunta"}
	WeekAskLead  = Text{"It goes to the clinic too. Ask it at your visit.", "También llega a la clínica. Hágala en su visita."}
	WeekAskLabel = Text{"Your question", "Su pregunta"}
	WeekAskKeep  = Text{"Keep it", "Guardarla"}
	WeekNight    = Text{"Nights this week", "Las noches de esta semana"}
	WeekNightSub = Text{"Two short questions, once a week", "Dos preguntas cortas, una vez por semana"}
	WeekNightAsk = Text{"How much did it hurt at night?", "¿Cuánto le dolió por la noche?"}
	WeekNightPut = Text{"Pain at night: %d", "Dolor por la noche: %d"}
	WeekSleepAsk = Text{"How did you sleep?", "¿Cómo durmió?"}
	WeekMedAsk   = Text{"Did you take pain medicine before bed?", "¿Tomó algo para el dolor antes de dormir?"}
	WeekNightYes = Text{"Told %s. Thank you.", "Lo contó %s. Gracias."}
	WeekSubtitle = Text{"What went well, what changes, your questions", "Lo que fue bien, lo que cambia, sus preguntas"}
)

var sleeps = map[rom.Sleep]Text{
	rom.SleptWell: {"Well", "Bien"},
	rom.SleptWoke: {"It woke me", "Me despertó"},
	rom.SleptBad:  {"Hardly at all", "Casi nada"},
}

// Sleep is how a night was.
func Sleep(l Lang, s rom.Sleep) string { return sleeps[s].In(l) }
