package words

// Words of the morning after.
var (
	MorningRow    = Text{"How was the shoulder overnight?", "¿Cómo pasó la noche el hombro?"}
	MorningSub    = Text{"Two short questions", "Dos preguntas cortas"}
	MorningPain   = Text{"How much did it hurt overnight?", "¿Cuánto le dolió esta noche?"}
	MorningSling  = Text{"Did you wear the sling as asked?", "¿Llevó el cabestrillo como se le pidió?"}
	SlingYes      = Text{"Yes", "Sí"}
	SlingPartly   = Text{"In part", "En parte"}
	SlingNo       = Text{"No", "No"}
	MorningThanks = Text{"Thank you", "Gracias"}
	MorningFine   = Text{"Good. Go on as planned.", "Bien. Siga como está previsto."}
	MorningEase   = Text{"Go less far today.", "Hoy vaya menos lejos."}
	MorningStop   = Text{"Rest the arm today. Call the clinic.", "Hoy descanse el brazo. Llame a la clínica."}
	MorningMore   = Text{"That is more than right after the session.", "Es más que justo después de la sesión."}
	SlingWhy      = Text{"The sling guards the repair. Ask if it rubs.", "El cabestrillo protege la reparación. Pregunte si roza."}
	MorningLater  = Text{"Not now", "Ahora no"}
)

// Words of learning with two good hands, before the operation.
var (
	LearnTitle = Text{"Get to know the exercises", "Conozca los ejercicios"}
	LearnSub   = Text{"Look at them now. Later you have one good arm.", "Mírelos ahora. Luego tendrá un solo brazo sano."}
	LearnLead  = Text{"Only look and listen. Your surgeon decides which ones you get.", "Solo mire y escuche. Su cirujano decide cuáles le tocan."}
	LearnSound = Text{"Hear what a hold sounds like", "Oír cómo suena"}
	LearnNext  = Text{"Next exercise", "Ejercicio siguiente"}
	LearnOf    = Text{"%d of %d", "%d de %d"}
	BothArms   = Text{"Measure both arms", "Medir los dos brazos"}
	BothSub    = Text{"It shows later how far you have come.", "Luego muestra cuánto ha avanzado."}
)

// Words that the session has besides.
var (
	RuleFine     = Text{"0 to %d: go on gently.", "0 a %d: siga con suavidad."}
	RuleEase     = Text{"%d to %d: rest, then go less far.", "%d a %d: descanse, luego vaya menos lejos."}
	RuleStop     = Text{"%d or more: stop for now.", "%d o más: pare por ahora."}
	DidLine      = Text{"%s: %d of %d", "%s: %d de %d"}
	DidWhat      = Text{"What you did", "Lo que hizo"}
	CaptionLabel = Text{"What the phone says", "Lo que dice el teléfono"}
	UpdateMust   = Text{"Update the app. Then start it again.", "Actualice la aplicación. Luego ábrala otra vez."}
	UpdateWhy    = Text{"The clinic sent a plan that this app cannot read. Do no exercises until then.", "La clínica envió un plan que esta aplicación no puede leer. Hasta entonces, sin ejercicios."}
)
