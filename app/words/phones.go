package words

// Words of the patient's phones.
var (
	PhonesTitle  = Text{"Your phones", "Sus teléfonos"}
	PhonesThis   = Text{"This phone: %s.", "Este teléfono: %s."}
	PhonesSecond = Text{"A second phone", "Un segundo teléfono"}
	PhonesHelper = Text{"A helper can have the app on a phone too.", "Quien le ayuda también puede tener la aplicación."}
	PhonesAsk    = Text{"Ask the clinic for a code for one more phone.", "Pida a la clínica un código para otro teléfono."}
	PhonesSees   = Text{"It shows the same plan and all your records.", "Muestra el mismo plan y todas sus notas."}
	PhonesNew    = Text{"A new phone", "Un teléfono nuevo"}
	PhonesSend   = Text{"First send what waits on this one.", "Primero envíe lo que espera en este."}
	PhonesSwap   = Text{"Ask the clinic for a code to replace this phone.", "Pida a la clínica un código para cambiar este teléfono."}
	PhonesStops  = Text{"This phone stops when the new one joins.", "Este deja de funcionar cuando se une el nuevo."}
	PhonesLost   = Text{"A phone is lost", "Un teléfono perdido"}
	PhonesCall   = Text{"Call the clinic now. They stop it at once.", "Llame ya a la clínica. Lo paran en seguida."}
	PhonesRisk   = Text{"Who can unlock it can read your records on it.", "Quien pueda abrirlo puede leer sus notas."}
	PhonesName   = Text{"Your name and birth date are not on it.", "Su nombre y fecha de nacimiento no están en él."}
)
