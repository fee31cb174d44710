package words

import "unsling/engine/rom"

// Words of the screen that opens first.
var (
	DaysAfter  = Count{Text{"1 day after surgery", "1 día después de la operación"}, Text{"%d days after surgery", "%d días después de la operación"}}
	DaysBefore = Count{Text{"1 day to surgery", "1 día hasta la operación"}, Text{"%d days to surgery", "%d días hasta la operación"}}
	SurgeryDay = Text{"Day of surgery", "Día de la operación"}
	WeeksAfter = Count{Text{"1 week after surgery", "1 semana después de la operación"}, Text{"%d weeks after surgery", "%d semanas después de la operación"}}

	ArmMay      = Text{"Your arm may", "Su brazo puede"}
	ArmMustNot  = Text{"Your arm must not", "Su brazo no debe"}
	ToLimit     = Text{"%s: no further than %d degrees", "%s: no más de %d grados"}
	ToLevel     = Text{"%s: no higher than the %s", "%s: no más alto que %s"}
	ByItself    = Text{"By itself no further than %d degrees.", "Por sí solo no más de %d grados."}
	NoLimit     = Text{"%s: stop where it first feels tight", "%s: pare donde empiece a sentir tirantez"}
	NotYet      = Text{"%s: not yet", "%s: todavía no"}
	NoOwnMoves  = Text{"Lift or turn by its own strength", "Levantarse o girar con su propia fuerza"}
	NoUnhelped  = Text{"Lift or turn with no help", "Levantarse o girar sin ayuda"}
	NoWeights   = Text{"Carry, push or pull weight", "Cargar, empujar o tirar de peso"}
	LimitsAll   = Text{"All limits", "Todos los límites"}
	LimitsLead  = Text{"The clinic set these limits. Never go past them.", "La clínica puso estos límites. No los pase nunca."}
	LimitsTitle = Text{"Your limits today", "Sus límites de hoy"}

	HomeDay    = Text{"Home day", "Día en casa"}
	TherapyDay = Text{"Therapy day", "Día de terapia"}
	RestDay    = Text{"Rest day", "Día de descanso"}
	Attended   = Text{"You had therapy today.", "Hoy tuvo terapia."}

	NextSession  = Text{"Next session", "Próxima sesión"}
	FromHour     = Text{"from %s", "desde las %s"}
	AboutMinutes = Count{Text{"about 1 minute", "cerca de 1 minuto"}, Text{"about %d minutes", "unos %d minutos"}}
	HowMany      = Count{Text{"1 exercise", "1 ejercicio"}, Text{"%d exercises", "%d ejercicios"}}
	SessionOf    = Text{"Session %d of %d today", "Sesión %d de %d de hoy"}
	StartNow     = Text{"Start", "Empezar"}
	GoOn         = Text{"Go on", "Seguir"}
	HalfDone     = Text{"You have begun a session. It waits at the same hold.", "Empezó una sesión. Le espera en el mismo punto."}
	DoneToday    = Text{"Done for today. More is not better.", "Listo por hoy. Más no es mejor."}
	NothingToday = Text{"No exercises today. Rest helps too.", "Hoy no hay ejercicios. El descanso también ayuda."}
	DontCatchUp  = Text{"Start with the next one. Do not catch up.", "Empiece con la próxima. No recupere las otras."}

	MeasureDue   = Text{"Measure today: %s", "Medir hoy: %s"}
	MeasureInUse = Text{"Measure in a hold: %s", "Medir al mantener: %s"}

	BeforeTitle  = Text{"Your surgery is %s", "Su operación es %s"}
	BeforeLead   = Text{"No exercises yet. Get to know the app with two good hands.", "Aún sin ejercicios. Conozca la aplicación con las dos manos."}
	BeforeSling  = Text{"Try the sling on. Ask if it rubs.", "Pruebe el cabestrillo. Pregunte si roza."}
	Unconfirmed  = Text{"The clinic still checks what was done. Wear the sling. Do no exercises yet.", "La clínica aún revisa lo hecho. Lleve el cabestrillo. Aún sin ejercicios."}
	HandsOk      = Text{"You may move your fingers.", "Puede mover los dedos."}
	PostponedDo  = Text{"Your surgery was moved. All waits until there is a new date.", "Su operación se movió. Todo espera a la nueva fecha."}
	NoPlanYet    = Text{"Your plan has not come yet. Do no exercises. Call if this lasts.", "Su plan aún no llegó. Sin ejercicios. Llame si sigue así."}
	PausedTitle  = Text{"Your plan is paused", "Su plan está en pausa"}
	PausedDo     = Text{"Do no exercises for now. The clinic tells you when to go on.", "Por ahora sin ejercicios. La clínica le dirá cuándo seguir."}
	StoppedTitle = Text{"Stop. No exercises.", "Pare. Sin ejercicios."}
	StoppedDo    = Text{"The clinic has stopped your plan. Wait for its word.", "La clínica paró su plan. Espere su aviso."}
	HaltedTitle  = Text{"Stop. Call the clinic.", "Pare. Llame a la clínica."}
	HaltedDo     = Text{"You told us about a warning sign. No exercises until the clinic answers.", "Usted avisó de una señal de alarma. Sin ejercicios hasta que la clínica responda."}
	HaltedCalled = Text{"A message alone is not enough. Please call.", "Un mensaje no basta. Por favor, llame."}
	ClinicSays   = Text{"The clinic says: %s", "La clínica dice: %s"}
	EndedTitle   = Text{"Your program has ended", "Su programa ha terminado"}
	EndedDo      = Text{"Nobody reads this any more. Call the clinic if you need help.", "Nadie lee esto ya. Llame a la clínica si necesita ayuda."}
	CannotTell   = Text{"The app cannot tell what is allowed today. Do no exercises. Call the clinic.", "La aplicación no sabe qué se permite hoy. Sin ejercicios. Llame a la clínica."}
	StalePlan    = Text{"Your plan was not confirmed for %d days. It may have changed. Call the clinic.", "Su plan no se confirmó en %d días. Pudo cambiar. Llame a la clínica."}
	ClockWrong   = Text{"The clock of this phone looks wrong. Please set the date.", "El reloj del teléfono parece mal. Ajuste la fecha."}
	PlanChanged  = Text{"The clinic has changed your plan. Look at your limits.", "La clínica cambió su plan. Mire sus límites."}

	MayITitle = Text{"May I?", "¿Puedo?"}
	MayIAsk   = Text{"Ask us", "Pregúntenos"}
)

// phaseSays says in one sentence what a phase permits, by the highest class.
var phaseSays = map[rom.Class]Text{
	rom.Locked:         {"Your shoulder rests and heals.", "Su hombro descansa y sana."},
	rom.Passive:        {"Your other arm or the table does the work.", "El otro brazo o la mesa hace el trabajo."},
	rom.ActiveAssisted: {"Your arm may help a little now.", "Su brazo ya puede ayudar un poco."},
	rom.Active:         {"Your arm may move by itself. It carries nothing.", "Su brazo puede moverse solo. No carga nada."},
	rom.Resisted:       {"Your arm gets strong again, step by step.", "Su brazo gana fuerza, paso a paso."},
}

// MustNotBy says what the shoulder must not do in a phase whose highest class
// is highest; "" where nothing of it is left.
func MustNotBy(l Lang, highest rom.Class) string {
	switch {
	case highest < rom.ActiveAssisted:
		return NoOwnMoves.In(l)
	case highest < rom.Active:
		return NoUnhelped.In(l)
	case highest < rom.Resisted:
		return NoWeights.In(l)
	}
	return ""
}

// Phase returns what a phase means in one sentence.
func Phase(l Lang, highest rom.Class) string { return phaseSays[highest].In(l) }

var slings = map[rom.Sling]Text{
	rom.SlingAlways:  {"Wear the sling day and night. Off only to wash and exercise.", "Lleve el cabestrillo día y noche. Fuera solo para lavarse y ejercitar."},
	rom.SlingDay:     {"Wear the sling by day.", "Lleve el cabestrillo de día."},
	rom.SlingOutdoor: {"Wear the sling outside and in bed.", "Lleve el cabestrillo fuera de casa y en la cama."},
	rom.SlingComfort: {"Wear the sling when you want to rest the arm.", "Lleve el cabestrillo para descansar el brazo."},
	rom.SlingOff:     {"You need no sling.", "No necesita cabestrillo."},
}

// Sling returns how the sling is worn.
func Sling(l Lang, s rom.Sling) string { return slings[s].In(l) }

// lockReasons says why something is locked, by the key of the schedule.
var lockReasons = map[string]Text{
	"not-yet":          {"Not yet. It comes in a later phase.", "Todavía no. Llega en una fase posterior."},
	"class":            {"Not now. It asks too much of the arm.", "Ahora no. Pide demasiado al brazo."},
	"motion":           {"Not now. Your plan does not allow it.", "Ahora no. Su plan no lo permite."},
	"procedure":        {"Not yet. It could pull on the repair.", "Todavía no. Podría tirar de lo reparado."},
	"closed":           {"Not now. Your clinic has closed it for you.", "Ahora no. Su clínica lo cerró para usted."},
	"paused":           {"Not now. Your plan is paused.", "Ahora no. Su plan está en pausa."},
	"stopped":          {"Stop. The clinic has stopped your plan.", "Pare. La clínica paró su plan."},
	"halted":           {"Stop. The clinic must answer first.", "Pare. La clínica debe responder primero."},
	"not-confirmed":    {"Not yet. The clinic still checks what was done.", "Todavía no. La clínica aún revisa lo hecho."},
	"postponed":        {"Not yet. Your surgery was moved.", "Todavía no. Su operación se movió."},
	"no-plan":          {"Not yet. Your plan has not come.", "Todavía no. Su plan no ha llegado."},
	"ended":            {"Your program has ended.", "Su programa ha terminado."},
	"unknown-exercise": {"This app does not know it yet.", "Esta aplicación aún no lo conoce."},
}

// LockReason returns why something is locked; "" for an unknown reason.
func LockReason(l Lang, key string) string { return lockReasons[key].In(l) }

// forbidden names combinations of movements that no single limit expresses.
var forbidden = map[string]Text{
	"active-lifting":                      {"Lift itself", "Levantarse solo"},
	"lifting":                             {"Lift or carry things", "Levantar o cargar cosas"},
	"sudden-movement":                     {"Move in a rush", "Moverse de golpe"},
	"weight-on-hand":                      {"Lean on this hand", "Apoyarse en esta mano"},
	"forced-stretch":                      {"Be forced further than it goes", "Ir a la fuerza más lejos"},
	"pushing":                             {"Push", "Empujar"},
	"pendulum":                            {"Swing loose", "Balancearse suelto"},
	"hand-behind-back":                    {"Go behind your back", "Ir detrás de la espalda"},
	"cross-body":                          {"Go across your chest", "Cruzar el pecho"},
	"elbow-behind-body":                   {"Go back behind your body", "Ir hacia atrás del cuerpo"},
	"external-rotation-past-neutral":      {"Turn the hand out past straight ahead", "Girar la mano más afuera que al frente"},
	"abduction-with-external-rotation":    {"Go out to the side with the hand turned back", "Abrirse de lado con la mano girada atrás"},
	"flexion-adduction-internal-rotation": {"Go up, across and turned in, all at once", "Subir, cruzar y girar hacia dentro a la vez"},
	"forced-internal-rotation":            {"Be pushed in at the hand", "Ser empujado hacia dentro por la mano"},
	"biceps-contraction":                  {"Tense the front of the upper arm", "Tensar la parte de delante del brazo"},
	"elbow-flexion-against-resistance":    {"Bend the elbow against a load", "Doblar el codo con carga"},
	"forced-elbow-extension":              {"Be forced straight at the elbow", "Ser estirado a la fuerza por el codo"},
	"palm-up-turning":                     {"Turn the palm up with force", "Girar la palma arriba con fuerza"},
}

// Forbidden returns a combination that the arm must not do; "" if unknown.
func Forbidden(l Lang, key string) string { return forbidden[key].In(l) }

// activities are the questions of daily life that a clinic answers.
var activities = map[string]Text{
	"shower":              {"Take a shower", "Ducharme"},
	"type":                {"Type on a keyboard", "Escribir en un teclado"},
	"drive":               {"Drive a car", "Conducir"},
	"work":                {"Go to work", "Ir a trabajar"},
	"lift-cup":            {"Lift a cup", "Levantar una taza"},
	"sleep-on-side":       {"Sleep on this side", "Dormir de este lado"},
	"dress":               {"Dress by myself", "Vestirme sin ayuda"},
	"cook":                {"Cook", "Cocinar"},
	"swim":                {"Swim", "Nadar"},
	"lift-bag":            {"Carry a bag", "Llevar una bolsa"},
	"sleep-without-sling": {"Sleep with no sling", "Dormir sin cabestrillo"},
	"travel":              {"Travel", "Viajar"},
}

// Activity returns a question of daily life; "" if unknown.
func Activity(l Lang, key string) string { return activities[key].In(l) }

// Activities lists the keys with words.
func Activities() []string {
	return []string{"shower", "type", "drive", "work", "lift-cup", "sleep-on-side", "dress", "cook", "swim", "lift-bag", "sleep-without-sling", "travel"}
}
