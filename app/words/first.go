package words

// Words of the first run.
var (
	StepOf = Text{"Step %d of %d", "Paso %d de %d"}

	FirstTitle = Text{"Welcome", "Le damos la bienvenida"}
	FirstFrom  = Text{"This app is from %s.", "Esta aplicación es de %s."}
	FirstDoes  = Text{"It shows what your arm may do each day.", "Muestra lo que su brazo puede hacer cada día."}
	FirstTimes = Text{"It times your stretches and measures how far you get.", "Mide el tiempo y hasta dónde llega en cada estiramiento."}
	FirstWorks = Text{"It works without signal.", "Funciona sin señal."}
	FirstNot   = Text{"It does not diagnose. It does not replace your care team.", "No da un diagnóstico. No sustituye a su equipo médico."}
	FirstLang  = Text{"Language", "Idioma"}

	SafeTitle = Text{"Your safety first", "Primero, su seguridad"}
	SafeStop  = Text{"Stop and call if you feel a pop, sharp pain or a weak arm.", "Pare y llame si nota un chasquido, dolor fuerte o debilidad."}
	SafeLimit = Text{"Never go past the limit shown. Feeling good does not mean healed.", "Nunca pase del límite. Sentirse bien no significa estar curado."}
	SafeEmerg = Text{"In an emergency call %s. Do not use the app.", "En una emergencia llame al %s. No use la aplicación."}
	SafeOk    = Text{"I understand", "Entiendo"}

	SideTitle   = Text{"Which shoulder?", "¿Qué hombro?"}
	SideAsk     = Text{"Tap the shoulder of the surgery.", "Toque el hombro de la operación."}
	SideLeft    = Text{"My left shoulder", "Mi hombro izquierdo"}
	SideRight   = Text{"My right shoulder", "Mi hombro derecho"}
	SideWrong   = Text{"Stop. The clinic wrote down the other shoulder.", "Pare. La clínica anotó el otro hombro."}
	SideWrongDo = Text{"Do no exercises. Call the clinic now.", "No haga ejercicios. Llame ahora a la clínica."}
	SideAgain   = Text{"I tapped the wrong one", "Toqué el equivocado"}

	HandTitle = Text{"Which hand holds the phone?", "¿Con qué mano usa el teléfono?"}
	HandAsk   = Text{"The big buttons move to that hand.", "Los botones grandes se ponen de ese lado."}
	HandLeft  = Text{"My left hand", "La mano izquierda"}
	HandRight = Text{"My right hand", "La mano derecha"}

	SoundTitle = Text{"Can you hear it?", "¿Lo oye?"}
	SoundLead  = Text{"A tone and a voice tell you when to move and hold.", "Un tono y una voz le dicen cuándo mover y mantener."}
	SoundPlay  = Text{"Play the sound", "Tocar el sonido"}
	SoundTry   = Text{"Hold. Keep still. Come back slowly.", "Mantenga. Quieto. Vuelva despacio."}
	SoundYes   = Text{"I hear it", "Lo oigo"}
	SoundNo    = Text{"I hear nothing", "No oigo nada"}
	SoundHint  = Text{"Turn the phone up. Switch off silent mode. All cues are also on the screen.", "Suba el volumen. Quite el modo silencio. Todo se ve también en pantalla."}
	SoundNone  = Text{"This phone has no voice in your language. You still get tones.", "Este teléfono no tiene voz en su idioma. Habrá tonos."}

	InstallTitle  = Text{"Put it on your home screen", "Póngala en la pantalla de inicio"}
	InstallLead   = Text{"Then it opens with one tap and keeps your data safe.", "Así se abre con un toque y guarda bien sus datos."}
	InstallDone   = Text{"The app is on your home screen.", "La aplicación está en la pantalla de inicio."}
	InstallButton = Text{"Install", "Instalar"}
	InstallLater  = Text{"Later", "Más tarde"}

	AppleSteps = [3]Text{
		{"Tap the share sign: a square with an arrow up.", "Toque compartir: un cuadrado con una flecha."},
		{"Choose Add to Home Screen.", "Elija Añadir a pantalla de inicio."},
		{"Tap Add. Then open the new icon.", "Toque Añadir. Luego abra el icono nuevo."},
	}
	AndroidSteps = [3]Text{
		{"Tap the menu: 3 dots at the top.", "Toque el menú: 3 puntos arriba."},
		{"Choose Install app or Add to Home screen.", "Elija Instalar aplicación o Añadir a pantalla de inicio."},
		{"Tap Install. Then open the new icon.", "Toque Instalar. Luego abra el icono nuevo."},
	}
	OtherSteps = [3]Text{
		{"Open the menu of your browser.", "Abra el menú del navegador."},
		{"Choose Install or Add to Home screen.", "Elija Instalar o Añadir a pantalla de inicio."},
		{"Then open the new icon.", "Luego abra el icono nuevo."},
	}

	KeepTitle  = Text{"Keep your data safe", "Guardar bien sus datos"}
	KeepLead   = Text{"A phone may delete data when it gets full. Ask it not to.", "Un teléfono lleno puede borrar datos. Pídale que no lo haga."}
	KeepAsk    = Text{"Ask this phone", "Preguntar al teléfono"}
	KeepYes    = Text{"Your phone said yes. It keeps the data.", "El teléfono dijo que sí. Guarda los datos."}
	KeepNo     = Text{"Your phone made no promise. Open the app often so that all gets sent.", "El teléfono no lo promete. Abra la aplicación a menudo para enviar todo."}
	KeepUnsure = Text{"Not asked yet.", "Aún sin preguntar."}
)
