package words

// Words of the first days after the operation. They repeat what leaflets of
// practices agree on (P11, P22, P24 of the published leaflets; common practice)
// and always give way to the clinic.
var (
	DaysTitle  = Text{"The first days", "Los primeros días"}
	DaysSub    = Text{"Sling, washing, sleep, ice", "Cabestrillo, aseo, sueño, hielo"}
	DaysTry    = Text{"Try the sling", "Probar el cabestrillo"}
	DaysTrySub = Text{"Put it on now, with two good hands.", "Póngaselo ahora, con las dos manos sanas."}
	DaysRule   = Text{"If your clinic said something else, do that.", "Si su clínica dijo otra cosa, haga eso."}

	NumbTitle = Text{"While the arm is numb", "Mientras el brazo está dormido"}
	NumbStop  = Text{"Keep the numb arm in the sling. It cannot warn you.", "Deje el brazo en el cabestrillo. Dormido no le avisa."}
	NumbUntil = Text{"It may be numb for about %d hours after surgery.", "Puede estar dormido unas %d horas después de la operación."}
	NumbHot   = Text{"Keep it away from heat, ice and sharp things.", "Aléjelo del calor, del hielo y de lo que corta."}
	NumbPills = Text{"Ask when to take your pain pills. Pain can start at night.", "Pregunte cuándo tomar las pastillas. El dolor puede empezar de noche."}
	NumbLong  = Text{"Still numb after that? Call the clinic the same day.", "¿Sigue dormido después? Llame a la clínica el mismo día."}

	SlingTitle = Text{"Put the sling on", "Ponerse el cabestrillo"}
	SlingStep1 = Text{"Lay the elbow deep in the back of the sling.", "Meta el codo hasta el fondo del cabestrillo."}
	SlingStep2 = Text{"The strap runs behind your neck, over the good shoulder.", "La cinta pasa por el cuello, sobre el hombro sano."}
	SlingStep3 = Text{"1: the hand is a bit higher than the elbow. 2: close the belt.", "1: la mano queda algo más alta que el codo. 2: cierre el cinturón."}
	SlingRubs  = Text{"Does the neck hurt? Move the pad, or ask.", "¿Le duele el cuello? Mueva la almohadilla, o pregunte."}
	SlingHandy = Text{"Swollen hand? Open and close it often.", "¿Mano hinchada? Ábrala y ciérrela a menudo."}

	HandWork    = Text{"Move hand and wrist", "Mover mano y muñeca"}
	HandWorkDo  = Text{"A few times each hour while you are awake.", "Unas veces cada hora mientras esté despierto."}
	ElbowWork   = Text{"Bend the elbow only as your plan says.", "Doble el codo solo como dice su plan."}
	ElbowNot    = Text{"The elbow stays still for now. The clinic says when.", "El codo se queda quieto por ahora. La clínica dirá cuándo."}
	ShoulderNot = Text{"Do not move the shoulder by itself.", "No mueva el hombro por sí solo."}

	WashTitle = Text{"Wash the armpit", "Lavar la axila"}
	WashLean  = Text{"Lean forward. Let the arm hang down loose.", "Inclínese hacia delante. Deje colgar el brazo suelto."}
	WashDo    = Text{"The good hand washes and dries the armpit.", "La mano sana lava y seca la axila."}
	WashDry   = Text{"Keep the wound dry until the clinic says so.", "Mantenga seca la herida hasta que la clínica lo diga."}
	WashSeat  = Text{"Sit on a stool. Wet floors are slippery.", "Siéntese en un taburete. El suelo mojado resbala."}

	SleepTitle = Text{"Sleep half sitting", "Dormir medio sentado"}
	SleepDo    = Text{"Put pillows behind your back. Keep the sling on.", "Ponga almohadas en la espalda. Deje puesto el cabestrillo."}
	SleepElbow = Text{"A pillow under the elbow keeps it from sinking back.", "Una almohada bajo el codo evita que caiga atrás."}
	SleepNot   = Text{"Do not lie on the sore shoulder.", "No se acueste sobre el hombro operado."}

	IceTitle = Text{"Ice", "Hielo"}
	IceCloth = Text{"Always put a cloth between ice and skin.", "Ponga siempre un paño entre el hielo y la piel."}
	IceTime  = Text{"15 minutes at most. Then wait 1 hour.", "15 minutos como mucho. Luego espere 1 hora."}
	IceNumb  = Text{"No ice on a numb arm.", "Sin hielo si el brazo está dormido."}

	DressTitle = Text{"Get dressed", "Vestirse"}
	DressOn    = Text{"The sore arm goes into the sleeve first.", "El brazo operado entra primero en la manga."}
	DressOff   = Text{"It comes out last. Let it hang.", "Sale el último. Déjelo colgar."}
	DressShirt = Text{"Wide shirts with buttons are best.", "Lo mejor son camisas anchas con botones."}

	WoundTitle = Text{"Wound and visits", "Herida y visitas"}
	WoundLeave = Text{"Leave the dressing on until the clinic says so.", "Deje el apósito hasta que la clínica lo diga."}
	WoundWet   = Text{"Still wet after day 5? Call the clinic that day.", "¿Sigue mojada tras el día 5? Llame ese día a la clínica."}
	VisitNext  = Text{"Next visit: %s.", "Próxima visita: %s."}
	VisitNone  = Text{"No visit date here yet. Ask your clinic.", "Aún sin fecha de visita. Pregunte a su clínica."}

	NotTitle = Text{"What this arm must not do", "Lo que este brazo no debe hacer"}
	NotAfter = Text{"After this operation: %s.", "Después de esta operación: %s."}

	WatchTitle = Text{"Look out for", "Esté atento a"}
	WatchRow   = Text{"What to do about it", "Qué hacer"}
)

// Words of the helper's page.
var (
	HelperTitle = Text{"For your helper", "Para quien le ayuda"}
	HelperSub   = Text{"How to carry the arm, where to stand", "Cómo llevar el brazo, dónde ponerse"}
	HelperNever = Text{"Never push. Never pull. Stop when they say stop.", "Nunca empuje. Nunca tire. Pare cuando le digan pare."}
	CarryTitle  = Text{"Carry the arm", "Llevar el brazo"}
	Carry1      = Text{"One hand goes under the elbow. One goes under the wrist.", "Una mano va bajo el codo. La otra bajo la muñeca."}
	Carry2      = Text{"Take the whole weight. Wait until the arm feels loose.", "Tome todo el peso. Espere a que el brazo esté suelto."}
	Carry3      = Text{"Move slowly. Stop at the first tightness, or at the limit.", "Mueva despacio. Pare al primer tirón, o en el límite."}
	Carry4      = Text{"Hold still. Talk. Then bring the arm back slowly.", "Mantenga quieto. Hable. Luego vuelva despacio."}
	StandTitle  = Text{"Take the picture", "Hacer la foto"}
	Stand1      = Text{"Stand 2 or 3 steps away, straight at the side.", "Póngase a 2 o 3 pasos, justo de lado."}
	Stand2      = Text{"Hold the phone as high as the shoulder, and level.", "Tenga el teléfono a la altura del hombro, y recto."}
	Stand3      = Text{"The whole arm and the hip must be in the picture.", "En la foto deben verse todo el brazo y la cadera."}
	Stand4      = Text{"Do not let the picture make them hold too long.", "Que la foto no alargue la espera."}
	HelperSigns = Text{"Know the warning signs", "Conozca las señales de alarma"}
)

// Words of the list "May I?".
var (
	MayIRule  = Text{"Your clinic wrote these answers for this stage.", "Su clínica escribió estas respuestas para esta etapa."}
	MayINone  = Text{"Your clinic has not written answers yet. Please ask.", "Su clínica aún no escribió respuestas. Pregunte."}
	MayIWrite = Text{"Ask the clinic", "Preguntar a la clínica"}
	MayIOther = Text{"Not in the list? Then ask before you do it.", "¿No está en la lista? Pregunte antes de hacerlo."}
)

// Words of who did something, by the roles of the clinic.
var (
	ChangedBy = Text{"By %s, %s.", "Por %s, %s."}
	surgeon   = Text{"surgeon", "cirugía"}
	therapist = Text{"therapist", "fisioterapia"}
	assistant = Text{"assistant", "asistencia"}
	named     = Text{"%s (%s)", "%s (%s)"}
)

// Person returns a name with its role, such as "Ada Vega (surgeon)"; "" for no name.
func Person(l Lang, name, role string) string {
	if name == "" {
		return ""
	}
	switch role {
	case "surgeon":
		return named.With(l, name, surgeon.In(l))
	case "therapist":
		return named.With(l, name, therapist.In(l))
	case "assistant":
		return named.With(l, name, assistant.In(l))
	}
	return name
}
