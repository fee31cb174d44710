package words

// Words of the help screen.
var (
	HelpTitle    = Text{"Help", "Ayuda"}
	HelpEmerg    = Text{"In an emergency call %s now.", "En una emergencia llame ya al %s."}
	HelpNoNumber = Text{"The number is on the sheet from your clinic.", "El número está en la hoja de su clínica."}
	HelpTap      = Text{"Tap a sign to tell the clinic. Call as well.", "Toque una señal para avisar a la clínica. Llame también."}
	HelpNow      = Text{"Call for help now", "Pida ayuda ya"}
	HelpStop     = Text{"Stop and call now", "Pare y llame ya"}
	HelpToday    = Text{"Call today", "Llame hoy"}
	HelpSoon     = Text{"Call in the next days", "Llame en los próximos días"}
	HelpVisit    = Text{"Tell us at your next visit", "Díganoslo en la próxima visita"}
	SignReport   = Text{"Tell the clinic", "Avisar a la clínica"}
	SignText     = Text{"What happened? You may leave this empty.", "¿Qué pasó? Puede dejarlo vacío."}
	SignKept     = Text{"Kept on this phone. It goes to the clinic when there is a connection.", "Guardado en este teléfono. Va a la clínica cuando haya conexión."}
	SignCallToo  = Text{"Nobody may read this for hours. Please call.", "Quizá nadie lo lea en horas. Por favor, llame."}
	NoteTitle    = Text{"Send a note", "Enviar una nota"}
	NoteLead     = Text{"For questions that can wait. Call if it is urgent.", "Para preguntas que pueden esperar. Si es urgente, llame."}
	NoteLabel    = Text{"Your note", "Su nota"}
	NoteSend     = Text{"Keep and send", "Guardar y enviar"}
	NoteEmpty    = Text{"Please write a few words first.", "Escriba primero unas palabras."}
	NoteLong     = Text{"That is too long. Please keep it under %d letters.", "Es demasiado largo. Menos de %d letras, por favor."}
	NotesTitle   = Text{"Notes", "Notas"}
	NotesYours   = Text{"You, %s", "Usted, %s"}
	NotesTheirs  = Text{"Clinic, %s", "Clínica, %s"}
	ReportsTitle = Text{"What you told the clinic", "Lo que dijo a la clínica"}
)
