package words

// Words of many screens.
var (
	AppName       = Text{"Unsling", "Unsling"}
	Back          = Text{"Back", "Atrás"}
	Next          = Text{"Next", "Siguiente"}
	Done          = Text{"Done", "Listo"}
	YesWord       = Text{"Yes", "Sí"}
	NoWord        = Text{"No", "No"}
	On            = Text{"On", "Sí"}
	Off           = Text{"Off", "No"}
	Stop          = Text{"Stop", "Parar"}
	Help          = Text{"Help", "Ayuda"}
	Today         = Text{"Today", "Hoy"}
	Measure       = Text{"Measure", "Medir"}
	SoFar         = Text{"So far", "Hasta ahora"}
	Settings      = Text{"Settings", "Ajustes"}
	TryAgain      = Text{"Try again", "Intentar otra vez"}
	Loading       = Text{"Getting ready", "Preparando"}
	CallClinic    = Text{"Call the clinic", "Llamar a la clínica"}
	AfterHours    = Text{"When the clinic is closed", "Cuando la clínica está cerrada"}
	Emergency     = Text{"Emergency", "Emergencia"}
	TableTwin     = Text{"Show as a list", "Mostrar como lista"}
	EmergencyName = Text{"your emergency number", "su número de emergencia"}
	YourClinic    = Text{"your clinic", "su clínica"}
	SurgeonRule   = Text{"Your surgeon's word comes first.", "Lo que diga su cirujano va primero."}
	Unreviewed    = Text{"These words were not yet checked by a clinic.", "Una clínica aún no ha revisado estos textos."}
)

// The status line: how far records have come. "Received" never looks like "read".
var (
	NothingYet  = Text{"Nothing recorded yet.", "Aún no hay nada anotado."}
	KeptWaiting = Count{
		Text{"1 record is kept on this phone. It was not sent yet.", "1 nota está guardada en este teléfono. Aún no se envió."},
		Text{"%d records are kept on this phone. They were not sent yet.", "%d notas están guardadas en este teléfono. Aún no se enviaron."},
	}
	SendingNow   = Text{"Sending to the clinic.", "Enviando a la clínica."}
	AllReceived  = Text{"The clinic has received all. That does not mean read.", "La clínica ha recibido todo. Eso no quiere decir leído."}
	KeptNow      = Text{"Kept on this phone.", "Guardado en este teléfono."}
	ReceivedNow  = Text{"Received by the clinic. Not read yet.", "Recibido por la clínica. Aún no leído."}
	ReadBy       = Text{"Read by %s %s.", "Leído por %s %s."}
	ReadByNobody = Text{"Nobody has read it yet.", "Nadie lo ha leído todavía."}
	NotKept      = Text{"This could not be kept. Please write it down.", "No se pudo guardar. Por favor, anótelo en papel."}
	StorageFull  = Text{"This phone is full. Delete some photos or apps.", "Este teléfono está lleno. Borre fotos o aplicaciones."}
	NoConnection = Text{"No connection. You can go on without it.", "Sin conexión. Puede seguir sin ella."}
	ServerSilent = Text{"The clinic's server does not answer. The app tries again later.", "El servidor de la clínica no responde. La aplicación probará más tarde."}
	ServerNo     = Text{"The clinic's server did not take your records. Call the clinic.", "El servidor de la clínica no aceptó sus notas. Llame a la clínica."}
	LastContact  = Text{"Last contact with the clinic: %s.", "Último contacto con la clínica: %s."}
	NoContactYet = Text{"No contact with the clinic yet.", "Aún sin contacto con la clínica."}
	NobodyWatch  = Text{"Nobody watches this app day and night.", "Nadie vigila esta aplicación día y noche."}
)

// Troubles of the phone's storage.
var (
	TroubleRefused = Text{"This window keeps no data. Open the app in a normal window.", "Esta ventana no guarda datos. Abra la aplicación en una ventana normal."}
	TroubleLost    = Text{"This phone removed the app's data. Ask your clinic for a new code. What it received comes back.", "El teléfono borró los datos. Pida un código nuevo a su clínica. Lo que recibió vuelve."}
	TroubleKeyLost = Text{"This phone removed a part of the app's data. The rest cannot be read.", "El teléfono borró una parte de los datos. El resto no se puede leer."}
	Revoked        = Text{"The clinic has ended this phone's access. Call the clinic to go on.", "La clínica terminó el acceso de este teléfono. Llame para seguir."}
	Forgotten      = Text{"The clinic does not know this phone any more. Your records are kept. Call for a new code.", "La clínica ya no conoce este teléfono. Sus notas están guardadas. Llame para pedir otro código."}
	SlipUp         = Text{"Something in the app went wrong. What was kept is safe.", "Algo falló en la aplicación. Lo guardado está a salvo."}
	UpdateReady    = Text{"A new version is ready.", "Hay una versión nueva."}
	UpdateBad      = Text{"The new version did not come in. Close the app, open it again and try once more.", "La nueva versión no entró. Cierre la aplicación, ábrala de nuevo y pruebe otra vez."}
	UpdateLater    = Text{"Finish your session first. Then update.", "Termine antes su sesión. Luego actualice."}
	UpdateNow      = Text{"Update now", "Actualizar ahora"}
)

// Kinds of records, as nouns for "what waits".
var kinds = map[string]Count{
	"session":  {Text{"1 exercise session", "1 sesión de ejercicios"}, Text{"%d exercise sessions", "%d sesiones de ejercicios"}},
	"reading":  {Text{"1 angle", "1 ángulo"}, Text{"%d angles", "%d ángulos"}},
	"pain":     {Text{"1 pain score", "1 nota de dolor"}, Text{"%d pain scores", "%d notas de dolor"}},
	"sign":     {Text{"1 warning sign", "1 señal de alarma"}, Text{"%d warning signs", "%d señales de alarma"}},
	"sling":    {Text{"1 sling note", "1 nota del cabestrillo"}, Text{"%d sling notes", "%d notas del cabestrillo"}},
	"question": {Text{"1 message", "1 mensaje"}, Text{"%d messages", "%d mensajes"}},
}

var otherRecord = Count{Text{"1 other record", "1 nota más"}, Text{"%d other records", "%d notas más"}}

// Records returns how many records of a kind, in words.
func Records(l Lang, kind string, n int) string {
	if c, ok := kinds[kind]; ok {
		return c.In(l, n)
	}
	return otherRecord.In(l, n)
}

// KnownKind reports whether a kind has words of its own.
func KnownKind(kind string) bool { _, ok := kinds[kind]; return ok }
