package words

// More words of the first run: consent, who is meant, installing.
var (
	ConsentTitle = Text{"What leaves this phone", "Qué sale de este teléfono"}
	ConsentGoes  = Text{"To your clinic, and nobody else:", "A su clínica, y a nadie más:"}
	ConsentWhat1 = Text{"your exercises, with time and pain", "sus ejercicios, con tiempo y dolor"}
	ConsentWhat2 = Text{"your angles and the marks on photos", "sus ángulos y las marcas en las fotos"}
	ConsentWhat3 = Text{"warning signs, sling notes and your messages", "señales de alarma, uso del cabestrillo y sus mensajes"}
	ConsentWhat4 = Text{"the kind of phone, its language, your free hand", "el tipo de teléfono, su idioma, su mano libre"}
	ConsentStays = Text{"What stays here:", "Qué se queda aquí:"}
	ConsentStay1 = Text{"your photos", "sus fotos"}
	ConsentStay2 = Text{"sound and text size", "el sonido y el tamaño del texto"}
	ConsentLeave = Text{"You can stop at any time in Settings. What was sent stays with the clinic.", "Puede dejarlo cuando quiera en Ajustes. Lo enviado queda en la clínica."}
	ConsentYes   = Text{"I agree", "De acuerdo"}

	WhoTitle = Text{"Does someone else use this phone too?", "¿Usa alguien más este teléfono?"}
	WhoLead  = Text{"Choose 1 to 3 letters. They stand on top, so nobody mixes you up.", "Elija de 1 a 3 letras. Salen arriba, para que nadie se confunda."}
	WhoField = Text{"Your letters", "Sus letras"}
	WhoSkip  = Text{"Only I use it", "Solo lo uso yo"}
	WhoBad   = Text{"Please type 1 to 3 letters.", "Escriba de 1 a 3 letras."}
	WhoIs    = Text{"This app belongs to %s", "Esta aplicación es de %s"}
)
