package words

import "unsling/engine/rom"

// Words of measuring.
var (
	MeasureTitle  = Text{"Measure", "Medir"}
	MeasureAsked  = Text{"Your clinic asks for it today", "Su clínica lo pide hoy"}
	MeasureOthers = Text{"Other moves", "Otros movimientos"}
	MeasureLocked = Text{"Not now", "Ahora no"}
	MeasureEnough = Text{"Enough for this week. More is not better.", "Basta por esta semana. Más no es mejor."}
	MeasureInHow  = Text{"Only in a hold of your session, and only once.", "Solo al mantener en su sesión, y solo una vez."}
	MeasureNoHome = Text{"Not measured at home. Your therapist does it.", "No se mide en casa. Lo hace su terapeuta."}
	WhichArm      = Text{"%s arm", "brazo %s"}
	LastTime      = Text{"Last time: %d degrees, %s", "Última vez: %d grados, %s"}
	NeverYet      = Text{"Not measured yet", "Aún sin medir"}

	HowTitle    = Text{"How do you want to measure?", "¿Cómo quiere medir?"}
	ByPhoto     = Text{"With a photo", "Con una foto"}
	ByPhotoSub  = Text{"Someone takes it, or the phone leans on something.", "La toma alguien, o el teléfono se apoya."}
	ByTilt      = Text{"With the phone on your arm", "Con el teléfono en el brazo"}
	ByTiltSub   = Text{"The phone feels how far it leans.", "El teléfono nota cuánto se inclina."}
	ByLevelHow  = Text{"Where does your thumb reach?", "¿Hasta dónde llega su pulgar?"}
	DangerFirst = Text{"Stop at the first tightness. Never go past your limit.", "Pare al primer tirón. No pase nunca de su límite."}

	PhotoTake   = Text{"Take a photo", "Hacer una foto"}
	PhotoChoose = Text{"Choose a photo", "Elegir una foto"}
	PhotoIn     = Text{"Photo in %d", "Foto en %d"}
	PhotoShow   = Text{"Whole arm and body in the picture. Phone level.", "Todo el brazo y el cuerpo en la foto. Teléfono recto."}
	PhotoStays  = Text{"The photo stays on this phone.", "La foto se queda en este teléfono."}
	CameraNo    = Text{"This phone did not allow the camera. You can choose a photo.", "El teléfono no permitió la cámara. Puede elegir una foto."}
	CameraNone  = Text{"No camera was found. You can choose a photo.", "No hay cámara. Puede elegir una foto."}
	PhotoBad    = Text{"This file is no photo. Please choose another one.", "Este archivo no es una foto. Elija otro."}

	MarkMove  = Text{"Move with the buttons, by drag, or tap the place.", "Mueva con los botones, arrastre, o toque el sitio."}
	MarkUp    = Text{"Up", "Arriba"}
	MarkDown  = Text{"Down", "Abajo"}
	MarkLeft  = Text{"Left", "Izquierda"}
	MarkRight = Text{"Right", "Derecha"}
	MarkFine  = Text{"Small steps", "Pasos pequeños"}
	MarkOther = Text{"Next mark", "Otra marca"}
	MarkBad   = Text{"The marks are too close. Put them further apart.", "Las marcas están muy juntas. Sepárelas."}
	AngleIs   = Text{"Angle: %d degrees", "Ángulo: %d grados"}
	AngleUse  = Text{"Use this angle", "Usar ángulo"}

	TiltAllow  = Text{"Allow the sensor when the phone asks.", "Permita el sensor cuando el teléfono pregunte."}
	TiltStart  = Text{"Start", "Empezar"}
	TiltTrunk  = Text{"Hold the phone along your side. Top edge to your feet, screen out.", "Ponga el teléfono en su costado. Borde superior hacia los pies, pantalla fuera."}
	TiltUpper  = Text{"Put the phone along your upper arm. Top edge to the elbow.", "Ponga el teléfono en la parte alta del brazo. Borde superior hacia el codo."}
	TiltArm    = Text{"Put it along the upper arm. Top edge to your hand, screen out.", "Póngalo en la parte alta del brazo. Borde superior hacia la mano, pantalla fuera."}
	TiltFore   = Text{"Put it along the forearm. Top edge to your hand.", "Póngalo en el antebrazo. Borde superior hacia la mano."}
	TiltStill  = Text{"Hold still until the bar is full.", "No se mueva hasta que la barra se llene."}
	TiltSteady = Text{"Steady", "Quieto"}
	TiltShaky  = Text{"Too shaky. Rest it on something.", "Se mueve mucho. Apóyelo en algo."}
	TiltGot    = Text{"Got it", "Ya está"}
	TiltTake   = Text{"Take it now", "Tomar ahora"}
	TiltNo     = Text{"This phone did not allow the sensor. Use a photo.", "El teléfono no permitió el sensor. Use una foto."}
	TiltNone   = Text{"This phone has no such sensor. Use a photo.", "Este teléfono no tiene ese sensor. Use una foto."}
	TiltBad    = Text{"That did not work. Put the phone on again.", "No funcionó. Ponga el teléfono otra vez."}

	TrialOf        = Text{"Try %d of %d", "Intento %d de %d"}
	TrialMore      = Text{"One more try", "Otro intento"}
	TrialKeep      = Text{"Keep the result", "Guardar el resultado"}
	ResultIs       = Text{"%d degrees", "%d grados"}
	ResultErr      = Text{"Could be %d more or less.", "Puede ser %d más o menos."}
	ResultSame     = Text{"About the same as last time.", "Casi igual que la última vez."}
	ResultUp       = Text{"%d more than last time.", "%d más que la última vez."}
	ResultDown     = Text{"%d less than last time. One day can differ.", "%d menos que la última vez. Un día puede variar."}
	ResultNew      = Text{"Your first angle. The next ones tell more.", "Su primer ángulo. Los próximos dirán más."}
	ResultOtherWay = Text{"You measured another way last time. The two do not compare.", "La última vez midió de otra forma. No se pueden comparar."}
	ResultIn       = Text{"Within your limit of %d.", "Dentro de su límite de %d."}
	ResultFar      = Text{"The results differ a lot. Please try once more.", "Los resultados difieren mucho. Pruebe otra vez."}
	ResultOdd      = Text{"This differs a lot from last time. Please check the marks.", "Difiere mucho de la última vez. Revise las marcas."}

	TierClose   = Text{"This looks close to your limit. Go less far.", "Parece cerca de su límite. Vaya menos lejos."}
	TierLikely  = Text{"This may be past your limit. Leave this stretch for today.", "Puede pasar de su límite. Deje este estiramiento por hoy."}
	TierOver    = Text{"Stop this stretch. Call the clinic today.", "Pare este estiramiento. Llame hoy a la clínica."}
	TierOverSub = Text{"This is past your limit of %d.", "Esto pasa de su límite de %d."}
	TierFirst   = Text{"This looks past your limit. Go less far.", "Parece que pasa de su límite. Vaya menos lejos."}
	SecondAsk   = Text{"We took a second photo. Please mark it too.", "Tomamos una segunda foto. Márquela también."}
	SecondMark  = Text{"Mark the second photo", "Marcar la segunda foto"}
	SecondTilt  = Text{"Arm still there? Measure once more now. Do not go there again.", "¿El brazo sigue ahí? Mida otra vez ahora. No vuelva a ir ahí."}
	SecondNow   = Text{"Measure once more", "Medir otra vez"}
	SecondNo    = Text{"No, go on", "No, seguir"}
	FeelGood    = Text{"Feeling good does not mean healed.", "Sentirse bien no significa estar curado."}
)

// landmarks says each point to mark, by the keys of the engine.
var landmarks = map[string]Text{
	"acromion":       {"tip of the shoulder", "punta del hombro"},
	"other-acromion": {"tip of the other shoulder", "punta del otro hombro"},
	"epicondyle":     {"outer side of the elbow", "lado de fuera del codo"},
	"styloid":        {"wrist, at the little finger", "muñeca, junto al meñique"},
	"mid-axillary":   {"side of the hip", "lado de la cadera"},
	"armpit":         {"side of the chest, by the armpit", "lado del pecho, junto a la axila"},
	"sternum-top":    {"dip above the breastbone", "hueco sobre el esternón"},
	"sternum-line":   {"navel", "ombligo"},
	"olecranon":      {"point of the elbow", "punta del codo"},
	"pencil-low":     {"pencil end at the little finger", "punta del lápiz junto al meñique"},
	"pencil-high":    {"pencil end at the thumb", "punta del lápiz junto al pulgar"},
	"spine-c7":       {"bump at the base of the neck", "bulto en la base del cuello"},
	"spine-psis":     {"place between the dimples above the buttocks", "entre los hoyuelos sobre las nalgas"},
	"thumb-tip":      {"tip of the thumb", "punta del pulgar"},
}

// Landmark returns a point to mark; "" if unknown.
func Landmark(l Lang, key string) string { return landmarks[key].In(l) }

// watch says what to keep still and what to look out for, by the keys of the
// engine (after NORKIN2016 and VAIRO2012 Table 1).
var watch = map[string]Text{
	"hold.thorax":                   {"Keep your body still.", "No mueva el cuerpo."},
	"hold.scapula":                  {"Keep your shoulder blade flat.", "Mantenga plano el omóplato."},
	"hold.thorax-and-scapula":       {"Keep body and shoulder blade still.", "No mueva el cuerpo ni el omóplato."},
	"hold.scapula-and-thorax":       {"Keep body and shoulder blade still.", "No mueva el cuerpo ni el omóplato."},
	"hold.elbow-at-side":            {"Keep the elbow at your side.", "Mantenga el codo junto al cuerpo."},
	"hold.elbow-on-roll":            {"Keep the elbow on the towel.", "Mantenga el codo sobre la toalla."},
	"watch.abduction-drifts":        {"The elbow stays as high as the shoulder.", "El codo sigue a la altura del hombro."},
	"watch.arched-back":             {"Do not arch your back.", "No arquee la espalda."},
	"watch.belly-stops-hand":        {"Stop when the hand meets your belly.", "Pare cuando la mano toque el vientre."},
	"watch.drift-forward":           {"Do not let the arm come to the front.", "No deje que el brazo vaya hacia delante."},
	"watch.drift-out":               {"Do not let the arm drift to the side.", "No deje que el brazo se vaya de lado."},
	"watch.elbow-flares":            {"Do not let the elbow stick out.", "No separe el codo."},
	"watch.elbow-leaves-roll":       {"The elbow stays on the towel.", "El codo sigue sobre la toalla."},
	"watch.elbow-leaves-side":       {"The elbow stays at your side.", "El codo sigue junto al cuerpo."},
	"watch.front-of-shoulder-lifts": {"The shoulder stays on the bed.", "El hombro sigue sobre la cama."},
	"watch.rib-flare":               {"Do not push your ribs out.", "No saque las costillas."},
	"watch.scapula-tips":            {"Do not tip the shoulder to the front.", "No incline el hombro hacia delante."},
	"watch.shrug":                   {"Do not pull the shoulder up.", "No suba el hombro."},
	"watch.side-lean":               {"Do not lean to the side.", "No se incline de lado."},
	"watch.trunk-bends":             {"Do not bend your body.", "No doble el cuerpo."},
	"watch.trunk-lean":              {"Do not lean back.", "No se incline hacia atrás."},
	"watch.trunk-turns":             {"Do not turn your body.", "No gire el cuerpo."},
	"watch.upper-arm-moves":         {"Keep the upper arm still.", "No mueva la parte alta del brazo."},
	"watch.wrist-bends":             {"Keep the wrist straight.", "Mantenga recta la muñeca."},
}

// Watch returns what to keep still or look out for; "" if unknown.
func Watch(l Lang, key string) string { return watch[key].In(l) }

var positions = map[rom.Position]Text{
	rom.Supine:    {"Lie on your back with bent knees.", "Túmbese boca arriba con las rodillas dobladas."},
	rom.Seated:    {"Sit upright.", "Siéntese derecho."},
	rom.Standing:  {"Stand upright.", "Póngase de pie, derecho."},
	rom.SideLying: {"Lie on your side.", "Túmbese de lado."},
	rom.Prone:     {"Lie on your belly.", "Túmbese boca abajo."},
}

// Position returns how to lie, sit or stand.
func Position(l Lang, p rom.Position) string { return positions[p].In(l) }

// setups says where the phone stands and who holds it, by the engine's keys.
var setups = map[string]Text{
	"view.side":       {"Photo from the side of that arm.", "Foto desde el lado de ese brazo."},
	"view.front":      {"Photo from the front.", "Foto de frente."},
	"view.above":      {"Photo from straight above.", "Foto desde arriba."},
	"view.head":       {"Photo from behind your head.", "Foto desde detrás de la cabeza."},
	"view.feet":       {"Photo from your feet.", "Foto desde los pies."},
	"view.behind":     {"Photo from behind you.", "Foto desde atrás."},
	"setup.helper":    {"Let someone help you.", "Pida ayuda a alguien."},
	"setup.propped":   {"Or lean the phone on something. Use the timer.", "O apoye el teléfono en algo. Use el contador."},
	"setup.strapped":  {"Strap the phone to the arm.", "Sujete el teléfono al brazo con una cinta."},
	"setup.free-hand": {"Your good hand holds the phone on.", "Su mano sana sujeta el teléfono."},
}

// SetUp returns a view ("view.") or a set-up ("setup."); "" if unknown.
func SetUp(l Lang, key string) string { return setups[key].In(l) }

// More words of measuring.
var (
	MeasureUnasked = Text{"Your clinic has not asked for it.", "Su clínica no lo ha pedido."}
	LevelLast      = Text{"Last time: %s, %s", "Última vez: %s, %s"}
	LevelIs        = Text{"Your thumb reaches the %s.", "Su pulgar llega hasta: %s."}
	LevelErr       = Text{"Could be one step more or less.", "Puede ser un paso más o menos."}
	PutMark        = Text{"Mark %d of %d: tap the %s", "Marca %d de %d, toque: %s"}
	MarksOnPhoto   = Text{"Photo with marks", "Foto con marcas"}
	NowTrunk       = Text{"First the body", "Primero el cuerpo"}
	NowArm         = Text{"Now the arm", "Ahora el brazo"}
	ReadyIn        = Text{"Starts in %d", "Empieza en %d"}
)

// warnings says what may be wrong with one measurement, by the keys of the
// engine.
var warnings = map[string]Text{
	"measure.out-of-plane": {"The arm or the camera was turned. Try to stand square.", "El brazo o la cámara estaba girado. Póngase recto."},
	"measure.mirrored":     {"Is this the right arm? The picture may be the wrong way round.", "¿Es el brazo correcto? La foto puede estar al revés."},
	"measure.trunk-leans":  {"Your body leaned. Try to stay upright.", "Su cuerpo se inclinó. Intente quedarse derecho."},
	"measure.upside-down":  {"The phone was upside down. That is fine.", "El teléfono estaba al revés. No pasa nada."},
	"measure.direction":    {"The phone may have been on the other side. Please check.", "El teléfono quizá estaba del otro lado. Revíselo."},
	"measure.across":       {"The phone lay turned on the arm. Lay its long side along the bone.", "El teléfono estaba girado en el brazo. Ponga su lado largo a lo largo del hueso."},
	"measure.small":        {"You look small in the photo. Come closer next time.", "Se ve pequeño en la foto. Acérquese la próxima vez."},
}

// Warning returns what may be wrong with a measurement; "" if unknown.
func Warning(l Lang, key string) string { return warnings[key].In(l) }
