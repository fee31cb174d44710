package words

// Words of joining a clinic.
var (
	EnrolTitle   = Text{"Join your clinic", "Unirse a su clínica"}
	EnrolLead    = Text{"Your clinic gave you a sheet with a code.", "Su clínica le dio una hoja con un código."}
	EnrolCode    = Text{"Code on the sheet", "Código de la hoja"}
	EnrolHint    = Text{"8 letters and digits. Small letters are fine.", "8 letras y números. Valen minúsculas."}
	EnrolPin     = Text{"Number said to you, if any", "Número que le dijeron, si hay"}
	EnrolPinHint = Text{"6 digits. Leave it empty if you got none.", "6 cifras. Déjelo vacío si no tiene."}
	EnrolJoin    = Text{"Join", "Unirse"}
	EnrolLink    = Text{"Your link holds the code. You need not type it.", "Su enlace trae el código. No hace falta escribirlo."}
	EnrolType    = Text{"Type a code instead", "Escribir un código"}
	EnrolBusy    = Text{"Asking the clinic. This can take a moment.", "Preguntando a la clínica. Puede tardar un momento."}
	EnrolPending = Text{"Show this number to the staff. It must match theirs.", "Muestre este número al personal. Debe ser igual al suyo."}
	EnrolWait    = Text{"Then staff let you in. Keep the app open.", "Después el personal le da paso. Deje la aplicación abierta."}

	TabTitle = Text{"First, add the app to your phone", "Primero, añada la aplicación al teléfono"}
	TabLead  = Text{"Do not join in this window. It would not keep your data.", "No se una en esta ventana. No guardaría sus datos."}
	TabType  = Text{"Open the new icon. Type the code from your sheet there.", "Abra el icono nuevo. Escriba allí el código de su hoja."}
	TabSent  = Text{"Nothing was sent from this window.", "No se envió nada desde esta ventana."}
)

// refusals says why joining did not work, by the code of the server.
var refusals = map[string]Text{
	"":             {"Joining did not work. Try again, or call the clinic.", "No se pudo unir. Pruebe otra vez o llame a la clínica."},
	"code_short":   {"The code has 8 letters and digits. Please check it.", "El código tiene 8 letras y números. Revíselo."},
	"pin_short":    {"The number has 6 digits. Please check it.", "El número tiene 6 cifras. Revíselo."},
	"bad_code":     {"This code does not work. It may be old or used. Ask the clinic for a new one.", "Este código no sirve. Puede ser viejo o usado. Pida otro a la clínica."},
	"too_many":     {"Too many tries. Wait 15 minutes, then try again.", "Demasiados intentos. Espere 15 minutos y pruebe otra vez."},
	"device_taken": {"This phone has joined before. Call the clinic.", "Este teléfono ya se unió antes. Llame a la clínica."},
	"offline":      {"You need a connection to join. Your code stays here.", "Necesita conexión para unirse. Su código se queda aquí."},
	"server":       {"The clinic's server does not answer. Try again later.", "El servidor de la clínica no responde. Pruebe más tarde."},
	"too_old":      {"This app is too old. Close it and open it again.", "Esta aplicación es antigua. Ciérrela y ábrala de nuevo."},
	"storage":      {"This window keeps no data. Open the app in a normal window.", "Esta ventana no guarda datos. Abra la aplicación en una ventana normal."},
}

// Refusal returns why joining did not work.
func Refusal(l Lang, code string) string {
	if t, ok := refusals[code]; ok {
		return t.In(l)
	}
	return refusals[""].In(l)
}
