package words

import "unsling/engine/rom"

// motions says each motion as what the arm does, as a noun phrase in small
// letters.
var motions = map[rom.Motion]Text{
	rom.ForwardFlexion:  {"arm up in front", "brazo hacia arriba por delante"},
	rom.Scaption:        {"arm up, a bit to the side", "brazo hacia arriba, un poco de lado"},
	rom.Abduction:       {"arm up to the side", "brazo hacia arriba de lado"},
	rom.ERSide:          {"hand out, elbow at your side", "mano hacia fuera, codo pegado al cuerpo"},
	rom.ER20:            {"hand out, elbow a bit away", "mano hacia fuera, codo un poco separado"},
	rom.ER90:            {"hand back, elbow as high as the shoulder", "mano hacia atrás, codo a la altura del hombro"},
	rom.IRSide:          {"hand in to your belly", "mano hacia el vientre"},
	rom.IR90:            {"hand down, elbow as high as the shoulder", "mano hacia abajo, codo a la altura del hombro"},
	rom.Extension:       {"arm straight back", "brazo recto hacia atrás"},
	rom.CrossBody:       {"arm across your chest", "brazo cruzado sobre el pecho"},
	rom.HandBehindBack:  {"hand behind your back", "mano detrás de la espalda"},
	rom.ElbowFlexion:    {"elbow bent", "codo doblado"},
	rom.ElbowExtension:  {"elbow straight", "codo estirado"},
	rom.ForearmRotation: {"palm turned up", "palma hacia arriba"},
}

// Motion returns what the arm does, such as "arm up in front".
func Motion(l Lang, m rom.Motion) string { return motions[m].In(l) }

var (
	left  = Text{"left", "izquierdo"}
	right = Text{"right", "derecho"}
)

// Side returns "left" or "right", as it goes with a shoulder or an arm.
func Side(l Lang, s rom.Side) string {
	if s == rom.Left {
		return left.In(l)
	}
	return right.In(l)
}

// classes says who does the work, for "your arm may" lists.
var classes = map[rom.Class]Text{
	rom.Locked:         {"Not yet.", "Todavía no."},
	rom.Passive:        {"Your other arm or the table does the work.", "El otro brazo o la mesa hace el trabajo."},
	rom.ActiveAssisted: {"Your arm helps a little. The other arm does most.", "Su brazo ayuda un poco. El otro hace casi todo."},
	rom.Active:         {"Your arm may move on its own. Carry nothing.", "Su brazo puede moverse solo. No cargue nada."},
	rom.Resisted:       {"Your arm may work against a light pull.", "Su brazo puede trabajar contra un tirón suave."},
}

// Class returns who does the work of a movement.
func Class(l Lang, c rom.Class) string { return classes[c].In(l) }

// levels names how high the thumb reaches behind the back.
var levels = [...]Text{
	{"not measured", "sin medir"},
	{"neck", "cuello"}, {"neck", "cuello"}, {"neck", "cuello"},
	{"between the shoulder blades", "entre los omóplatos"}, {"between the shoulder blades", "entre los omóplatos"},
	{"between the shoulder blades", "entre los omóplatos"}, {"tip of the shoulder blade", "punta del omóplato"},
	{"below the shoulder blade", "debajo del omóplato"}, {"below the shoulder blade", "debajo del omóplato"},
	{"middle of the back", "mitad de la espalda"}, {"middle of the back", "mitad de la espalda"},
	{"lowest rib", "última costilla"}, {"just above the waist", "justo encima de la cintura"},
	{"just above the waist", "justo encima de la cintura"}, {"waist", "cintura"}, {"belt", "cinturón"}, {"belt", "cinturón"},
	{"base of the back", "base de la espalda"}, {"buttock", "nalga"}, {"side of the thigh", "lado del muslo"},
}

// Level returns where the thumb reaches behind the back.
func Level(l Lang, v rom.Level) string {
	if v < 0 || int(v) >= len(levels) {
		v = 0
	}
	return levels[v].In(l)
}

var procedures = map[rom.Procedure]Text{
	rom.CuffRepair:               {"repair of a shoulder tendon", "reparación de un tendón del hombro"},
	rom.CuffRepairLarge:          {"repair of a large shoulder tendon tear", "reparación de una rotura grande de un tendón del hombro"},
	rom.SubscapularisRepair:      {"repair of the front shoulder tendon", "reparación del tendón delantero del hombro"},
	rom.AnteriorLabralRepair:     {"repair of the front rim of the socket", "reparación del borde delantero de la articulación"},
	rom.PosteriorLabralRepair:    {"repair of the back rim of the socket", "reparación del borde trasero de la articulación"},
	rom.SLAPRepair:               {"repair of the top rim of the socket", "reparación del borde superior de la articulación"},
	rom.BicepsTenodesis:          {"new anchor for the biceps tendon", "nuevo anclaje del tendón del bíceps"},
	rom.CapsularRelease:          {"release of a stiff shoulder", "liberación de un hombro rígido"},
	rom.SubacromialDecompression: {"more space under the shoulder roof", "más espacio bajo el techo del hombro"},
}

// Procedure returns what was done, in plain words.
func Procedure(l Lang, p rom.Procedure) string { return procedures[p].In(l) }
