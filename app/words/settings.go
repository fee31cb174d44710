package words

// Words of the settings.
var (
	SettingsTitle = Text{"Settings", "Ajustes"}
	SetHand       = Text{"Free hand", "Mano libre"}
	SetHandLeft   = Text{"Left", "Izquierda"}
	SetHandRight  = Text{"Right", "Derecha"}
	SetLanguage   = Text{"Language", "Idioma"}
	SetSound      = Text{"Tones", "Tonos"}
	SetVoice      = Text{"Voice", "Voz"}
	SetMotion     = Text{"Moving pictures", "Dibujos en movimiento"}
	SetSize       = Text{"Text size", "Tamaño del texto"}
	SizeNormal    = Text{"Normal", "Normal"}
	SizeLarge     = Text{"Large", "Grande"}
	SizeLargest   = Text{"Largest", "Máximo"}
	SetRecords    = Text{"Your records", "Sus notas"}
	SetWaiting    = Text{"Not sent yet: %s.", "Aún sin enviar: %s."}
	SetAllSent    = Text{"Nothing waits to be sent.", "No hay nada por enviar."}
	SetSendNow    = Text{"Send now", "Enviar ahora"}
	SetStorage    = Text{"This phone", "Este teléfono"}
	SetVersion    = Text{"App version %s, words version %d", "Versión %s, textos versión %d"}
	SetPlanRev    = Text{"Plan number %d", "Plan número %d"}
	SetExport     = Text{"Save my record as a file", "Guardar mis notas en un archivo"}
	SetExported   = Text{"The file is saved. It holds all your data. Keep it safe.", "Archivo guardado. Contiene todos sus datos. Guárdelo bien."}
	SetExportBad  = Text{"The file could not be saved. Please try again.", "No se pudo guardar el archivo. Pruebe otra vez."}
	SetAbout      = Text{"About this app", "Sobre esta aplicación"}
	SetIntended   = Text{"It supports care after shoulder surgery. It does not diagnose. Your surgeon decides.", "Ayuda tras una operación de hombro. No da un diagnóstico. Decide su cirujano."}
)
