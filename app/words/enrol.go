package words

// Words of joining a clinic.
var (
	EnrolTitle   = Text{"Join your clinic", "Unirse a su clínica"}
	EnrolLead    = Text{"Your clinic gave you a sheet with a code.", "Su clínica le dio una hoja con un código."}
	EnrolAgain   = Text{"Joined before? Ask the clinic for a new code. What it received comes back.", "¿Ya se unió antes? Pida otro código a la clínica. Lo que ella recibió vuelve."}
	EnrolCode    = Text{"Code on the sheet", "Código de la hoja"}
	EnrolHint    = Text{"8 letters and digits. Small letters are fine.", "8 letras y números. Valen minúsculas."}
	EnrolPin     = Text{"Number the clinic told you", "Número que le dijo la clínica"}
	EnrolPinHint = Text{"6 digits.", "6 cifras."}
	EnrolPinAsk  = Text{"I was told a number", "Me dijeron un número"}
	EnrolJoin    = Text{"Join", "Unirse"}
	JoinAgain    = Text{"I have a new code", "Tengo un código nuevo"}
	EnrolLink    = Text{"Your link holds the code. You need not type it.", "Su enlace trae el código. No hace falta escribirlo."}
	EnrolType    = Text{"Type a code instead", "Escribir un código"}
	EnrolBusy    = Text{"Asking the clinic. This can take a moment.", "Preguntando a la clínica. Puede tardar un momento."}
	EnrolPending = Text{"Show this number to the staff. It must match theirs.", "Muestre este número al personal. Debe ser igual al suyo."}
	EnrolWait    = Text{"Then staff let you in. Keep the app open.", "Después el personal le da paso. Deje la aplicación abierta."}

	OtherTitle   = Text{"Whose records are on this phone?", "¿De quién son los datos de este teléfono?"}
	OtherLead    = Text{"Your new code is for another record. Nothing was sent yet.", "Su código nuevo es de otra ficha. Aún no se envió nada."}
	OtherMine    = Text{"They are mine", "Son míos"}
	OtherMineSub = Text{"All goes to the clinic under the new code.", "Todo va a la clínica con el código nuevo."}
	OtherSome    = Text{"They are not mine, or I am not sure", "No son míos, o no lo sé"}
	OtherNot     = Text{"Do not join here. Call the clinic.", "No se una aquí. Llame a la clínica."}
	OtherSafe    = Text{"Nothing was sent. All records stay on this phone.", "No se envió nada. Los datos se quedan en este teléfono."}

	TabTitle = Text{"First, add the app to your phone", "Primero, añada la aplicación al teléfono"}
	TabLead  = Text{"Do not join in this window. It would not keep your data.", "No se una en esta ventana. No guardaría sus datos."}
	TabType  = Text{"Open the new icon. Type the code from your sheet there.", "Abra el icono nuevo. Escriba allí el código de su hoja."}
	TabSent  = Text{"Nothing was sent from this window.", "No se envió nada desde esta ventana."}
)

// refusals says why joining did not work, by the code of the server and a few
// of the phone's own.
var refusals = map[string]Text{
	"":               {"Joining did not work. Try again, or call the clinic.", "No se pudo unir. Pruebe otra vez o llame a la clínica."},
	"code_short":     {"The code has 8 letters and digits. Please check it.", "El código tiene 8 letras y números. Revíselo."},
	"pin_short":      {"The number has 6 digits. Please check it.", "El número tiene 6 cifras. Revíselo."},
	"code_unknown":   {"The clinic does not know this code. Check the letters.", "La clínica no conoce este código. Revise las letras."},
	"code_expired":   {"This code is too old. Ask the clinic for a new one.", "Este código es viejo. Pida otro a la clínica."},
	"code_used":      {"This code was used before. Ask the clinic for a new one.", "Este código ya se usó. Pida otro a la clínica."},
	"wrong_pin":      {"This code needs the number you were told. Please check it.", "Este código necesita el número que le dijeron. Revíselo."},
	"too_many_tries": {"Too many tries. Ask the clinic for a new code.", "Demasiados intentos. Pida otro código a la clínica."},
	"too_many":       {"The clinic's server is busy. Wait a moment, then try again.", "El servidor está ocupado. Espere un momento y pruebe otra vez."},
	"device_taken":   {"This phone has joined before. Call the clinic.", "Este teléfono ya se unió antes. Llame a la clínica."},
	"too_old":        {"This app is too old. Close it and open it again.", "Esta aplicación es antigua. Ciérrela y ábrala de nuevo."},
	"other_record":   {"This code is for another record. Nothing was sent. Call the clinic.", "Este código es de otra ficha. No se envió nada. Llame a la clínica."},
	"offline":        {"You need a connection to join. Your code stays here.", "Necesita conexión para unirse. Su código se queda aquí."},
	"unavailable":    {"The clinic's server cannot answer now. Try again later.", "El servidor no puede responder ahora. Pruebe más tarde."},
	"internal":       {"The clinic's server had a fault. Try again later.", "El servidor tuvo un problema. Pruebe más tarde."},
	"storage":        {"This window keeps no data. Open the app in a normal window.", "Esta ventana no guarda datos. Abra la aplicación en una ventana normal."},
}

// Refusal returns why joining did not work.
func Refusal(l Lang, code string) string {
	if t, ok := refusals[code]; ok {
		return t.In(l)
	}
	return refusals[""].In(l)
}
