package words

// Words of taking a picture, of the level, of the back and of the result.
var (
	PhotoAlone    = Text{"Alone: photo in 10 seconds", "Solo: foto en 10 segundos"}
	PhotoHelper   = Text{"Helper: take it now", "Ayudante: hacerla ya"}
	PhotoStarts   = Text{"Photo in 10 seconds.", "Foto en 10 segundos."}
	LevelGood     = Text{"The phone is level.", "El teléfono está recto."}
	LevelRoll     = Text{"Turn the phone level.", "Gire el teléfono hasta que esté recto."}
	LevelUp       = Text{"The phone looks down. Stand it upright.", "El teléfono mira abajo. Póngalo derecho."}
	LevelDown     = Text{"The phone looks up. Stand it upright.", "El teléfono mira arriba. Póngalo derecho."}
	LevelAbove    = Text{"Hold the phone flat over the arm.", "Ponga el teléfono plano sobre el brazo."}
	LevelNone     = Text{"Set the phone level by eye.", "Ponga el teléfono recto a ojo."}
	PhotoFrame    = Text{"Arm and body in view", "Brazo y cuerpo a la vista"}
	OneLess       = Text{"1 degree less", "1 grado menos"}
	OneMore       = Text{"1 degree more", "1 grado más"}
	MarkNextShort = Text{"Next", "Otra"}

	ByBack      = Text{"Show the place on a picture of your back", "Muestre el sitio en un dibujo de la espalda"}
	ByBackSub   = Text{"Feel where your thumb is. Or ask someone to look.", "Sienta dónde está el pulgar. O pida que alguien mire."}
	ByBehind    = Text{"With a photo from behind", "Con una foto desde atrás"}
	ByBehindSub = Text{"Someone takes it. You mark neck, belt and thumb.", "La hace alguien. Usted marca cuello, cinturón y pulgar."}
	BackTap     = Text{"Tap the place. Or use the buttons.", "Toque el sitio. O use los botones."}
	BackPicture = Text{"Picture of your back", "Dibujo de su espalda"}
	BackHigher  = Text{"Higher", "Más alto"}
	BackLower   = Text{"Lower", "Más bajo"}
	BackUse     = Text{"Use this place", "Usar este sitio"}
	BackList    = Text{"Choose from a list", "Elegir de una lista"}
	BackNone    = Text{"No place chosen", "Ningún sitio elegido"}
	PlaceIs     = Text{"Place: %s", "Sitio: %s"}

	AgainDay      = Text{"Measure again %s.", "Mida otra vez %s."}
	AgainAsked    = Text{"Measure again when the app asks.", "Mida otra vez cuando la aplicación lo pida."}
	OddCheck      = Text{"Unlike last time. Marks right?", "Muy distinto. ¿Marcas correctas?"}
	OddUse        = Text{"Yes, use it", "Sí, usarlo"}
	MarkName      = Text{"%d of %d: %s", "%d de %d: %s"}
	MarkTap       = Text{"Tap the place.", "Toque el sitio."}
	OddTilt       = Text{"This differs a lot from last time. Did the phone lie right?", "Difiere mucho de la última vez. ¿Estaba bien puesto el teléfono?"}
	TrialsFar     = Text{"These tries differ a lot. One more try helps.", "Los intentos difieren mucho. Uno más ayuda."}
	LevelSame     = Text{"The same place as last time.", "El mismo sitio que la última vez."}
	LevelAbout    = Text{"About the same as last time. One step can be chance.", "Casi igual que la última vez. Un paso puede ser casualidad."}
	LevelUpward   = Text{"Higher than last time.", "Más alto que la última vez."}
	LevelDownward = Text{"Lower than last time. One day can differ.", "Más bajo que la última vez. Un día puede variar."}
	LevelFirst    = Text{"Your first time. The next ones tell more.", "Su primera vez. Las próximas dirán más."}
	LevelIn       = Text{"Your limit is the %s.", "Su límite es: %s."}
	ThisTime      = Text{"this time", "esta vez"}
	LastWord      = Text{"last time", "última vez"}
	OneTry        = Text{"Only one try. Measuring loads the arm too.", "Solo un intento. Medir también carga el brazo."}
	OtherArmWhy   = Text{"The good arm shows where you may get to one day.", "El brazo sano muestra adónde puede llegar un día."}
)
