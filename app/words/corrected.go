package words

// Words about side and date put right, and about care that goes on elsewhere.
var (
	CorrectionStop = Text{"We check a detail of your surgery. No exercises until we have spoken. Please call us.", "Revisamos un dato de su operación. Sin ejercicios hasta hablar. Llámenos, por favor."}
	CorrectionDone = Text{"Your data is right now. Your surgeon tells you when to go on.", "Sus datos ya están bien. Su cirujano le dirá cuándo seguir."}
	MovedTitle     = Text{"Your care goes on elsewhere", "Su atención sigue en otro lugar"}
	MovedDo        = Text{"From now on call %s: %s.", "Desde ahora llame a %s: %s."}
	MovedNobody    = Text{"Nobody reads this app any more.", "Nadie lee ya esta aplicación."}
)
