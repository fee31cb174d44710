package words

import "unsling/engine/rom"

// Guide says how an exercise is done: three short steps, how it should feel
// and what to avoid. Lead is the danger, said first.
type Guide struct {
	Name, Lead Text
	Steps      [3]Text
	Feel       Text
	Avoid      []Text
}

var (
	gentleStretch = Text{"You should feel a gentle stretch. It must not hurt sharply.", "Debe sentir un estirón suave. No debe doler de golpe."}
	noEffort      = Text{"It should feel loose and easy.", "Debe sentirlo suelto y fácil."}
	lightWork     = Text{"You should feel light work. It must not hurt sharply.", "Debe sentir un trabajo ligero. No debe doler de golpe."}

	armCarried = Text{"Do not lift with the sore arm.", "No levante con el brazo operado."}
	noBounce   = Text{"Do not bounce.", "No rebote."}
	noShrug    = Text{"Do not pull your shoulder up to your ear.", "No suba el hombro hacia la oreja."}
	elbowStays = Text{"Do not let the elbow leave your side.", "No deje que el codo se separe del cuerpo."}
	noTwist    = Text{"Do not twist your body.", "No gire el cuerpo."}
	noPress    = Text{"Do not press down with your hand.", "No apriete hacia abajo con la mano."}
	noArch     = Text{"Do not arch your back.", "No arquee la espalda."}
	noForce    = Text{"Do not force it.", "No lo fuerce."}
	noLoad     = Text{"Hold nothing in your hand.", "No sostenga nada en la mano."}
	letArmRest = Text{"Let the sore arm rest. Do not lift with it.", "Deje descansar el brazo operado. No levante con él."}
)

var exercises = map[rom.ExerciseID]Guide{
	rom.TableSlideFlexion: {
		Name: Text{"Table slide to the front", "Deslizar en la mesa hacia delante"},
		Lead: Text{"Let the table carry your arm. Do not press down.", "Deje que la mesa lleve el brazo. No apriete hacia abajo."},
		Steps: [3]Text{
			{"Sit at a table. Lay your arm on a towel.", "Siéntese a la mesa. Apoye el brazo sobre una toalla."},
			{"Lean your body to the front. The arm slides along.", "Incline el cuerpo hacia delante. El brazo se desliza."},
			{"Stop where it first feels tight. Hold. Come back slowly.", "Pare donde empiece a tirar. Mantenga. Vuelva despacio."},
		},
		Feel:  gentleStretch,
		Avoid: []Text{armCarried, noPress, noBounce},
	},
	rom.TableSlideAbduction: {
		Name: Text{"Table slide to the side", "Deslizar en la mesa hacia el lado"},
		Lead: Text{"Let the table carry your arm. Do not press down.", "Deje que la mesa lleve el brazo. No apriete hacia abajo."},
		Steps: [3]Text{
			{"Sit side on to a table. Lay your arm on a towel.", "Siéntese de lado a la mesa. Apoye el brazo en una toalla."},
			{"Lean your body to the side. The arm slides along.", "Incline el cuerpo hacia el lado. El brazo se desliza."},
			{"Stop where it first feels tight. Hold. Come back slowly.", "Pare donde empiece a tirar. Mantenga. Vuelva despacio."},
		},
		Feel:  gentleStretch,
		Avoid: []Text{armCarried, noPress, noShrug},
	},
	rom.SupineElevation: {
		Name: Text{"Lying, good arm lifts the sore arm", "Tumbado, el brazo sano sube el operado"},
		Lead: letArmRest,
		Steps: [3]Text{
			{"Lie on your back. Bend your knees.", "Túmbese boca arriba. Doble las rodillas."},
			{"Take the sore wrist with your good hand. Lift it up.", "Tome la muñeca operada con la mano sana. Súbala."},
			{"Stop where it first feels tight. Hold. Lower it slowly.", "Pare donde empiece a tirar. Mantenga. Baje despacio."},
		},
		Feel:  gentleStretch,
		Avoid: []Text{armCarried, noArch, noBounce},
	},
	rom.Pendulum: {
		Name: Text{"Loose swing", "Balanceo suelto"},
		Lead: Text{"Let the arm hang. Your body moves it.", "Deje colgar el brazo. El cuerpo lo mueve."},
		Steps: [3]Text{
			{"Lean on a table with your good hand.", "Apóyese en una mesa con la mano sana."},
			{"Let the sore arm hang down loose.", "Deje colgar suelto el brazo operado."},
			{"Rock your hips. The arm swings in small rounds.", "Mueva las caderas. El brazo hace círculos pequeños."},
		},
		Feel:  noEffort,
		Avoid: []Text{{"Do not swing the arm by its own strength.", "No mueva el brazo con su propia fuerza."}, noLoad},
	},
	rom.StickER: {
		Name: Text{"Stick push to the outside", "Empujar hacia fuera con un palo"},
		Lead: Text{"Let the stick push. The elbow stays at your side.", "El palo empuja. El codo se queda junto al cuerpo."},
		Steps: [3]Text{
			{"Lie on your back. Put a towel under the sore elbow.", "Túmbese boca arriba. Ponga una toalla bajo el codo operado."},
			{"Hold a stick in both hands. Bend both elbows.", "Sujete un palo con las dos manos. Doble los codos."},
			{"The good hand pushes the sore hand out. Hold.", "La mano sana empuja la otra hacia fuera. Mantenga."},
		},
		Feel:  gentleStretch,
		Avoid: []Text{elbowStays, noForce, noTwist},
	},
	rom.DoorwayER: {
		Name: Text{"Turn away in a doorway", "Girar en el marco de la puerta"},
		Lead: Text{"Keep the elbow at your side. Turn slowly.", "Mantenga el codo junto al cuerpo. Gire despacio."},
		Steps: [3]Text{
			{"Stand in a doorway. Bend the elbow. Palm on the frame.", "Póngase en la puerta. Doble el codo. Palma en el marco."},
			{"Keep your elbow at your side. Turn your body away.", "Mantenga el codo junto al cuerpo. Gire el cuerpo."},
			{"Stop where it first feels tight. Hold. Turn back slowly.", "Pare donde empiece a tirar. Mantenga. Vuelva despacio."},
		},
		Feel:  gentleStretch,
		Avoid: []Text{elbowStays, noForce, noBounce},
	},
	rom.WallClimbFlexion: {
		Name: Text{"Climb the wall in front", "Subir por la pared de frente"},
		Lead: Text{"Go slowly up and slowly down. The wall helps.", "Suba y baje despacio. La pared ayuda."},
		Steps: [3]Text{
			{"Stand facing a wall. Put your fingers on it.", "Póngase de cara a la pared. Apoye los dedos."},
			{"Walk your fingers up. Step closer as you go.", "Suba con los dedos. Acérquese paso a paso."},
			{"Stop where it first feels tight. Hold. Walk down slowly.", "Pare donde empiece a tirar. Mantenga. Baje despacio."},
		},
		Feel:  gentleStretch,
		Avoid: []Text{noShrug, {"Do not drop the arm on the way down.", "No deje caer el brazo al bajar."}, noArch},
	},
	rom.WallClimbAbduction: {
		Name: Text{"Climb the wall at your side", "Subir por la pared de lado"},
		Lead: Text{"Go slowly up and slowly down. The wall helps.", "Suba y baje despacio. La pared ayuda."},
		Steps: [3]Text{
			{"Stand side on to a wall. Put your fingers on it.", "Póngase de lado a la pared. Apoye los dedos."},
			{"Walk your fingers up. Step closer as you go.", "Suba con los dedos. Acérquese paso a paso."},
			{"Stop where it first feels tight. Hold. Walk down slowly.", "Pare donde empiece a tirar. Mantenga. Baje despacio."},
		},
		Feel:  gentleStretch,
		Avoid: []Text{noShrug, {"Do not lean to the other side.", "No se incline hacia el otro lado."}, {"Do not drop the arm on the way down.", "No deje caer el brazo al bajar."}},
	},
	rom.TowelBehindBack: {
		Name: Text{"Towel behind your back", "Toalla detrás de la espalda"},
		Lead: Text{"Let the towel pull. Go only a little way.", "Deje que la toalla tire. Vaya solo un poco."},
		Steps: [3]Text{
			{"Stand. Hold a towel behind you with both hands.", "De pie. Sujete una toalla detrás con las dos manos."},
			{"The good hand is on top. It pulls the towel up.", "La mano sana va arriba. Tira de la toalla hacia arriba."},
			{"Stop where it first feels tight. Hold. Let down slowly.", "Pare donde empiece a tirar. Mantenga. Baje despacio."},
		},
		Feel:  gentleStretch,
		Avoid: []Text{{"Do not lean to the front.", "No se incline hacia delante."}, noForce},
	},
	rom.SideLyingIR: {
		Name: Text{"Lying on the side, hand down", "Tumbado de lado, mano hacia abajo"},
		Lead: Text{"Push softly. Stop before it hurts.", "Empuje con suavidad. Pare antes de que duela."},
		Steps: [3]Text{
			{"Lie on the sore side. Elbow in front, bent square.", "Túmbese sobre el lado operado. Codo delante, en ángulo recto."},
			{"Put your good hand on the sore wrist. Push it down.", "Ponga la mano sana sobre la muñeca. Empuje hacia abajo."},
			{"Stop where it first feels tight. Hold. Let up slowly.", "Pare donde empiece a tirar. Mantenga. Suelte despacio."},
		},
		Feel:  gentleStretch,
		Avoid: []Text{{"Do not roll to the front or back.", "No ruede hacia delante ni hacia atrás."}, noForce},
	},
	rom.CrossBodyStretch: {
		Name: Text{"Arm across your chest", "Brazo cruzado sobre el pecho"},
		Lead: letArmRest,
		Steps: [3]Text{
			{"Sit or stand. Hold the sore elbow with your good hand.", "Sentado o de pie. Sujete el codo operado con la mano sana."},
			{"Pull the arm across your chest.", "Lleve el brazo por delante del pecho."},
			{"Stop where it first feels tight. Hold. Let go slowly.", "Pare donde empiece a tirar. Mantenga. Suelte despacio."},
		},
		Feel:  gentleStretch,
		Avoid: []Text{noTwist, noShrug, noForce},
	},
	rom.ElbowBend: {
		Name: Text{"Bend the elbow", "Doblar el codo"},
		Lead: noLoad,
		Steps: [3]Text{
			{"Sit. Let the arm hang at your side.", "Siéntese. Deje el brazo junto al cuerpo."},
			{"Bend the elbow slowly.", "Doble el codo despacio."},
			{"Straighten it slowly.", "Estírelo despacio."},
		},
		Feel:  noEffort,
		Avoid: []Text{{"Do not move the shoulder.", "No mueva el hombro."}, noLoad},
	},
	rom.ForearmTurn: {
		Name: Text{"Turn the palm", "Girar la palma"},
		Lead: noLoad,
		Steps: [3]Text{
			{"Rest the elbow at your side. Bend it square.", "Apoye el codo junto al cuerpo. Dóblelo en ángulo recto."},
			{"Turn the palm up slowly.", "Gire la palma hacia arriba despacio."},
			{"Turn the palm down slowly.", "Gire la palma hacia abajo despacio."},
		},
		Feel:  noEffort,
		Avoid: []Text{elbowStays, noLoad},
	},
	rom.WristHand: {
		Name: Text{"Hand and wrist", "Mano y muñeca"},
		Lead: Text{"Keep the arm in the sling if you wear one.", "Si lleva cabestrillo, deje el brazo en él."},
		Steps: [3]Text{
			{"Make a fist. Then open your hand wide.", "Cierre el puño. Luego abra bien la mano."},
			{"Bend the wrist up. Then bend it down.", "Doble la muñeca hacia arriba. Luego hacia abajo."},
			{"Touch the thumb with each finger.", "Toque el pulgar con cada dedo."},
		},
		Feel:  noEffort,
		Avoid: []Text{{"Do not move the shoulder.", "No mueva el hombro."}},
	},
	rom.ScapularSetting: {
		Name: Text{"Shoulder blade back", "Omóplato hacia atrás"},
		Lead: Text{"A small move is enough. The arm stays still.", "Basta un movimiento pequeño. El brazo no se mueve."},
		Steps: [3]Text{
			{"Sit tall. Let both arms rest.", "Siéntese derecho. Deje descansar los brazos."},
			{"Pull the shoulder blade softly back and down.", "Lleve el omóplato suavemente atrás y abajo."},
			{"Hold. Breathe. Let go.", "Mantenga. Respire. Suelte."},
		},
		Feel:  lightWork,
		Avoid: []Text{noShrug, noForce},
	},
	rom.ActiveElevation: {
		Name: Text{"Lift the arm by itself", "Levantar el brazo solo"},
		Lead: noLoad,
		Steps: [3]Text{
			{"Stand tall with the thumb up.", "De pie, derecho, con el pulgar arriba."},
			{"Lift the arm slowly to the front.", "Suba el brazo despacio por delante."},
			{"Stop before the shoulder hikes up. Lower it slowly.", "Pare antes de que suba el hombro. Baje despacio."},
		},
		Feel:  lightWork,
		Avoid: []Text{noShrug, noArch, noLoad},
	},
	rom.IsometricRotation: {
		Name: Text{"Push the wall, no move", "Empujar la pared sin mover"},
		Lead: Text{"Push softly. The arm does not move.", "Empuje con suavidad. El brazo no se mueve."},
		Steps: [3]Text{
			{"Stand by a wall. Keep the elbow bent at your side.", "Póngase junto a la pared. Codo doblado junto al cuerpo."},
			{"Push the back of your hand softly at the wall.", "Empuje la pared con el dorso de la mano, suave."},
			{"Hold. Breathe. Let go slowly.", "Mantenga. Respire. Suelte despacio."},
		},
		Feel:  lightWork,
		Avoid: []Text{elbowStays, noForce},
	},
	rom.BandRotation: {
		Name: Text{"Pull a band to the outside", "Tirar de una banda hacia fuera"},
		Lead: Text{"Use a light band. Move slowly.", "Use una banda suave. Muévase despacio."},
		Steps: [3]Text{
			{"Tie a band to a door. Keep the elbow at your side.", "Ate una banda a una puerta. Codo junto al cuerpo."},
			{"Pull the hand out slowly.", "Lleve la mano hacia fuera despacio."},
			{"Let it come back slowly.", "Deje que vuelva despacio."},
		},
		Feel:  lightWork,
		Avoid: []Text{elbowStays, noTwist, noForce},
	},
}

// Exercise returns how e is done.
func Exercise(e rom.ExerciseID) Guide { return exercises[e] }

// ExerciseName returns the name of e.
func ExerciseName(l Lang, e rom.ExerciseID) string { return exercises[e].Name.In(l) }
