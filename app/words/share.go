package words

// Words of the file with everything that the phone has.
var (
	ShareTitle    = Text{"My record", "Mis notas"}
	ShareLead     = Text{"All that this phone holds. It is private: give it only to people you trust.", "Todo lo que guarda este teléfono. Es privado: déselo solo a quien confíe."}
	ShareMade     = Text{"Made %s.", "Hecho %s."}
	ShareOpen     = Text{"Share my record to read", "Compartir mis notas para leer"}
	ShareRaw      = Text{"Save my record for a computer", "Guardar mis notas para un ordenador"}
	SharePlan     = Text{"Plan and limits", "Plan y límites"}
	ShareSessions = Text{"Sessions", "Sesiones"}
	ShareAngles   = Text{"Angles", "Ángulos"}
	SharePains    = Text{"Pain outside of sessions", "Dolor fuera de las sesiones"}
	ShareSigns    = Text{"Warning signs told", "Señales de alarma avisadas"}
	ShareLetters  = Text{"Notes and questions", "Notas y preguntas"}
	ShareVisits   = Text{"Visits", "Visitas"}
	ShareLines    = Text{"The records as they are stored", "Las notas tal como se guardan"}
	ShareWhen     = Text{"When", "Cuándo"}
	ShareWhat     = Text{"What", "Qué"}
	ShareSide     = Text{"Arm", "Brazo"}
	ShareAngle    = Text{"Degrees", "Grados"}
	ShareError    = Text{"More or less", "Más o menos"}
	ShareBy       = Text{"Measured by", "Medido por"}
	ShareDone     = Text{"Holds done", "Estiramientos hechos"}
	ShareBefore   = Text{"Pain before", "Dolor antes"}
	ShareAfter    = Text{"Pain after", "Dolor después"}
	ShareScore    = Text{"Pain", "Dolor"}
	ShareYou      = Text{"you", "usted"}
	ShareClinic   = Text{"clinic", "clínica"}
	ShareHow      = Text{"How", "Cómo"}
	ShareState    = Text{"Read", "Leído"}
	ShareNone     = Text{"Nothing.", "Nada."}
	ShareLeft     = Text{"left", "izquierdo"}
	ShareRight    = Text{"right", "derecho"}
)
