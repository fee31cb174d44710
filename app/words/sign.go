package words

import "unsling/engine/rom"

// signs says each warning sign as a patient would.
var signs = map[rom.SignID]Text{
	rom.SignChest:      {"Chest pain, or hard to breathe", "Dolor en el pecho o cuesta respirar"},
	rom.SignPaleHand:   {"Fingers pale, cold or blue", "Dedos pálidos, fríos o azules"},
	rom.SignDrowsy:     {"Very sleepy, hard to wake", "Mucho sueño, cuesta despertar"},
	rom.SignStroke:     {"Face droops, or speech is not clear", "Cara caída o habla poco clara"},
	rom.SignAllergy:    {"Face or throat swells up", "Se hincha la cara o la garganta"},
	rom.SignPop:        {"A pop, sharp pain or a weak arm", "Un chasquido, dolor fuerte o brazo débil"},
	rom.SignFall:       {"A fall, or the arm did too much", "Una caída, o el brazo hizo demasiado"},
	rom.SignFever:      {"Fever or chills", "Fiebre o escalofríos"},
	rom.SignWound:      {"Wound red, warm, wet or open", "Herida roja, caliente, húmeda o abierta"},
	rom.SignCalf:       {"Calf or arm swells or hurts", "La pantorrilla o el brazo se hincha o duele"},
	rom.SignRisingPain: {"Pain grows and pills do not help", "El dolor sube y las pastillas no ayudan"},
	rom.SignNumb:       {"Hand numb or weak", "Mano dormida o débil"},
	rom.SignHand:       {"Hand swells, is stiff or changes color", "La mano se hincha, está rígida o cambia de color"},
	rom.SignStiff:      {"Shoulder went stiff all at once", "El hombro se puso rígido de pronto"},
	rom.SignBulge:      {"The arm has a new shape", "El brazo tiene otra forma"},
	rom.SignOther:      {"Something else worries me", "Me preocupa otra cosa"},
}

// Sign returns the name of a warning sign; "something else" for one that this
// version does not know.
func Sign(l Lang, s rom.SignID) string {
	if t, ok := signs[s]; ok {
		return t.In(l)
	}
	return signs[rom.SignOther].In(l)
}

// What to do, by urgency. The groups are headed by it.
var (
	DoEmergency = Text{"Call %s now. Do not wait.", "Llame ya al %s. No espere."}
	DoNow       = Text{"Call the clinic now.", "Llame ahora a la clínica."}
	DoToday     = Text{"Call the clinic today.", "Llame hoy a la clínica."}
	DoSoon      = Text{"Call the clinic in the next days.", "Llame a la clínica en los próximos días."}
	DoVisit     = Text{"Tell us at your next visit.", "Díganoslo en la próxima visita."}
	DoStop      = Text{"Stop all exercises.", "Pare todos los ejercicios."}
)
