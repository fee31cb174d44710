package words

// Words of the program on paper, for people without a phone.
var (
	SheetTitle   = Text{"Your shoulder program", "Su programa para el hombro"}
	SheetHolds   = Text{"Good from %s to %s. Then ask us for a new sheet.", "Vale del %s al %s. Después pídanos otra hoja."}
	SheetThrow   = Text{"Throw older sheets away.", "Tire las hojas anteriores."}
	SheetOneDay  = Text{"%d sessions a day. Leave time between them.", "%d sesiones al día. Deje tiempo entre ellas."}
	SheetOnce    = Text{"1 session a day.", "1 sesión al día."}
	SheetStart   = Text{"Start", "Inicio"}
	SheetEnd     = Text{"End", "Final"}
	SheetTick    = Text{"Tick a box after each session", "Marque una casilla tras cada sesión"}
	SheetNoCatch = Text{"Left one out? Do not catch up. More is not better.", "¿Faltó una? No la recupere. Más no es mejor."}
	SheetDay     = Text{"Day", "Día"}
	SheetDone    = Text{"Done", "Hecho"}
	SheetWorst   = Text{"Worst pain, 0 to 10", "Peor dolor, 0 a 10"}
	SheetBring   = Text{"Bring this sheet to your next visit.", "Traiga esta hoja a su próxima visita."}
	SheetNobody  = Text{"Nobody sees this sheet until you bring it. In doubt, call.", "Nadie ve esta hoja hasta que la traiga. Si duda, llame."}
	SheetStop    = Text{"Stop and call us", "Pare y llámenos"}
	SheetPain    = Text{"Stop if the pain goes above %d of 10.", "Pare si el dolor pasa de %d de 10."}
	SheetSling   = Text{"Sling", "Cabestrillo"}
	SheetLess    = Text{"Less is safe. Never push past a limit.", "Menos es seguro. No pase nunca de un límite."}
)
