package words

// What the day's page says while the arm rests because of pain, and of a session that was ended early.
var (
	RestToday    = Text{"Rest the arm today.", "Hoy descanse el brazo."}
	RestForNow   = Text{"Rest the arm for now.", "Por ahora descanse el brazo."}
	RestNight    = Text{"The night was too painful. Call the clinic.", "La noche fue muy dolorosa. Llame a la clínica."}
	RestStopped  = Text{"You stopped because of pain.", "Paró por el dolor."}
	RestScore    = Text{"You told us a lot of pain.", "Nos dijo mucho dolor."}
	RestUntil    = Text{"At %s tell us your pain again. You may start if it is low.", "A las %s díganos su dolor otra vez. Si es poco, puede empezar."}
	RestTomorrow = Text{"No more today. Tomorrow we ask again.", "Hoy nada más. Mañana le preguntamos otra vez."}

	TheRest   = Text{"The rest: %s", "Lo que falta: %s"}
	RestCanBe = Text{"You may do the rest until %s.", "Puede hacer lo que falta hasta las %s."}
)
