package words

// Words of people who share a phone.
var (
	WhoAsk      = Text{"Who are you?", "¿Quién es usted?"}
	WhoTap      = Text{"Tap your letters. Each person has their own records.", "Toque sus letras. Cada persona tiene sus propias notas."}
	WhoTop      = Text{"Who?", "¿Quién?"}
	WhoHas      = Text{"%s uses the app now. Tap to change.", "%s usa la aplicación ahora. Toque para cambiar."}
	WhoNow      = Text{"Uses the app now", "Usa la aplicación ahora"}
	WhoNone     = Text{"No letters yet", "Aún sin letras"}
	WhoNew      = Text{"I am new on this phone", "Soy nuevo en este teléfono"}
	WhoNewSub   = Text{"You need a code from your clinic.", "Necesita un código de su clínica."}
	WhoShare    = Text{"Another person uses this phone too", "Otra persona usa también este teléfono"}
	WhoChange   = Text{"Change the person", "Cambiar de persona"}
	WhoAdd      = Text{"Add a person", "Añadir una persona"}
	WhoOwn      = Text{"Each person has their own plan, records and clinic code.", "Cada persona tiene su plan, sus notas y su código de la clínica."}
	WhoSees     = Text{"Whoever opens this phone can see it all. The app lock hides yours.", "Quien abra este teléfono puede verlo todo. El bloqueo oculta lo suyo."}
	WhoSends    = Text{"Records go to the clinic only while their owner uses the app.", "Las notas van a la clínica solo mientras su dueño usa la aplicación."}
	WhoSpace    = Text{"If this phone gets full, each app says what it could not keep.", "Si el teléfono se llena, cada aplicación dice qué no pudo guardar."}
	WhoFull     = Text{"This phone holds four people. There is no room for more.", "Este teléfono tiene cuatro personas. No caben más."}
	WhoBusy     = Text{"Pause or finish first. Then tap your letters.", "Primero pause o termine. Luego toque sus letras."}
	NotSwitched = Text{"That did not work. Please try again.", "No funcionó. Pruebe otra vez."}
	WhoWaits    = Text{"Still on this phone, for %s: %s.", "Aún en este teléfono, de %s: %s."}
	WhoLetters  = Text{"Change my letters", "Cambiar mis letras"}
	WhoYours    = Text{"Choose your letters", "Elija sus letras"}
	WhoTaken    = Text{"Someone here has these letters. Choose others.", "Alguien aquí tiene esas letras. Elija otras."}
	WhoNotNew   = Text{"I am not new here", "No soy nuevo aquí"}
	WhoFirst    = Text{"To tell the clinic, first say who you are.", "Para avisar a la clínica, diga primero quién es."}
	WhoOnly     = Text{"This is about your records only.", "Esto es solo sobre sus notas."}
	WhoArm      = Text{"%s shoulder", "hombro %s"}

	WhoseTitle   = Text{"Whose code is this?", "¿De quién es este código?"}
	WhoseMine    = Text{"It is mine", "Es mío"}
	WhoseMineSub = Text{"This app has joined already.", "Esta aplicación ya está unida."}
	WhoseOther   = Text{"It is for another person", "Es de otra persona"}
	WhoseSub     = Text{"Someone who uses this phone too. Nothing gets mixed.", "Alguien que usa también este teléfono. No se mezcla nada."}

	WhoErase     = Text{"Erase my part of this phone", "Borrar mi parte de este teléfono"}
	WhoEraseYes  = Text{"Yes, erase mine now", "Sí, borrar lo mío ahora"}
	WhoEraseOne  = Text{"Erase mine", "Borrar lo mío"}
	WhoEraseStay = Text{"The records of others on this phone stay.", "Las notas de otras personas siguen aquí."}
	WhoGone      = Text{"Your part is empty", "Su parte está vacía"}
)
