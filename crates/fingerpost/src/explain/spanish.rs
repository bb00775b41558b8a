//! The Spanish phrases about a route, for the teacher and for the learner.
//!
//! Terms: compás, tiempo (beat), signo de repetición, casilla (of an ending, with its number), calderón (fermata), octava, redonda (whole
//! note) are those of Spanish theory books and lessons, from memory. Segno, Coda, Fine, To Coda, D.C. and D.S. are written as they stand in
//! the score.

use super::Register;
use super::phrases::{
    Again, Causes, Ends, Heading, Heed, Lengths, Phrases, Places, Play, Returns, Sounding,
};

/// For the teacher: short, with the trade's words.
pub(super) const TEACHER: Phrases = Phrases {
    language: "es",
    register: Register::Teacher,
    // Spanish has one word only.
    bar_words: &[],
    nth,
    places: Places {
        at_end: "al final del compás {measure}",
        after_beat: "después del tiempo {beat} del compás {measure}",
        after_point: "en el compás {measure} (punto: {point})",
        at_start: "al comienzo del compás {measure}",
        at_beat: "en el tiempo {beat} del compás {measure}",
        at_point: "en el compás {measure} (punto: {point})",
        beginning: "al principio",
        start_repeat: "al signo de repetición que está {place}",
        segno: "al Segno{label} que está {place}",
        coda: "a la Coda{label} que está {place}",
        measure: "al compás {measure}",
        beat: "al tiempo {beat} del compás {measure}",
        point: "al compás {measure} (punto: {point})",
    },
    lengths: Lengths {
        one: "1 redonda",
        many: "{number} redondas",
        part: "{part} de redonda",
    },
    heading: Heading {
        one_measure: "1 compás",
        measures: "{number} compases",
        meter: "compás de {meter}",
        pickup: "anacrusa de {length}",
    },
    play: Play {
        one: "Toca el compás {from}.",
        two: "Toca los compases {from} y {to}.",
        many: "Toca los compases {from} a {to}.",
        from_beat: "{measure} (desde el tiempo {beat})",
        from_point: "{measure} (desde el punto {point})",
        to_beat: "{measure} (hasta el tiempo {beat})",
        to_point: "{measure} (hasta el punto {point})",
        beats: "{measure} (tiempos {from} a {to})",
        beat: "{measure} (tiempo {from})",
        points: "{measure} (del punto {from} al punto {to})",
    },
    causes: Causes {
        start: "El recorrido empieza en el compás {measure}.",
        on: "Ve {target}.",
        past_ending: "Se pasa de largo la casilla {list}: no vale para la vez {pass}.",
        repeat: "El signo de repetición {place} te manda de vuelta {target}: vez {pass} de {passes}.",
        repeat_last: "El signo de repetición {place} te manda de vuelta {target}: vez {pass} de {passes}.",
        repeat_anew: "El signo de repetición {place} te manda de vuelta {target}: vez {pass} de {passes}.",
        repeat_anew_last: "El signo de repetición {place} te manda de vuelta {target}: vez {pass} de {passes}.",
        da_capo: "El {sign} {place} te manda de vuelta {target}.",
        dal_segno: "El {sign} {place} te manda de vuelta {target}.",
        to_coda: "El {sign} {place} te manda {target}.",
        then_coda: "Desde el {Sign} {place} se va {target}, como dice el {jump}.",
        heed: Heed {
            fine: "",
            coda: "",
            segno: "",
            fine_then_coda: "",
            segno_then_coda: "",
        },
    },
    again: Again {
        one: "Lo mismo {times} veces más.",
        many: "Los últimos {moves} pasos, {times} veces más.",
    },
    unsettled: "Esto se lee también en otro orden; `fingerpost compare` muestra en cuál.",
    ends: Ends {
        fine: "La pieza termina en el Fine {place}.",
        segno: "El {jump} termina en el Segno {place}: hay que parar antes.",
        last_measure: "El recorrido termina con el compás {measure}.",
        past_endings: "Ninguna casilla de las que siguen vale para la vez {pass}: el recorrido termina aquí.",
        nothing: "No se toca ningún compás: ninguna casilla vale para la vez 1.",
    },
    returns: Returns {
        omitted: "Las repeticiones se omiten, como se ha pedido.",
        by_custom: "Según la costumbre actual, después de un {sign} se omiten las repeticiones ya hechas.",
        by_board: "Aquí está establecido: después de un {sign} se omiten las repeticiones ya hechas.",
        by_jump: "Las palabras junto a este {sign} dicen que se omiten las repeticiones.",
        by_end_repeat: "El signo de repetición {place} no vale en el camino de vuelta.",
        made_again: "Las palabras junto a este {sign} piden que se hagan otra vez las repeticiones.",
    },
    sounding: Sounding {
        as_written: "{measures} se toca otra vez como está escrito.",
        in_one: "En el compás {from}",
        in_two: "En los compases {from} y {to}",
        in_many: "En los compases {from} a {to}",
        one_hand: "{measures} la mano {hand} toca {shift}.",
        both_hands: "{measures} las dos manos tocan {shift}.",
        only: "{measures} toca solo la mano {hand}.",
        silent: "{measures} no toca ninguna mano.",
        hold: "{measures} se mantiene el calderón.",
        hold_hand: "{measures} la mano {hand} mantiene el calderón.",
        right: "derecha",
        left: "izquierda",
        up_one: "una octava más arriba",
        up_two: "dos octavas más arriba",
        down_one: "una octava más abajo",
        down_two: "dos octavas más abajo",
        up: "{octaves} octavas más arriba",
        down: "{octaves} octavas más abajo",
    },
};

/// For the learner, who may be nine years old.
pub(super) const LEARNER: Phrases = Phrases {
    register: Register::Learner,
    places: Places {
        start_repeat: "a los puntos que están {place}",
        ..TEACHER.places
    },
    causes: Causes {
        start: "Empieza en el compás {measure}.",
        on: "Ve {target}.",
        past_ending: "La casilla {list} no es para esta vez. Pasa de largo.",
        repeat: "Has llegado a los puntos que están {place}. Te mandan de vuelta {target}. Esta es tu {nth} vez.",
        repeat_last: "Has llegado a los puntos que están {place}. Te mandan de vuelta {target}. Esta es tu {nth} y última vez.",
        repeat_anew: "Has llegado a los puntos que están {place}. Te mandan de vuelta {target}. Aquí vuelves a contar desde uno: esta es tu {nth} vez.",
        repeat_anew_last: "Has llegado a los puntos que están {place}. Te mandan de vuelta {target}. Aquí vuelves a contar desde uno: esta es tu {nth} y última vez.",
        da_capo: "Has llegado al {sign} que está {place}. Vuelve {target}.{heed}",
        dal_segno: "Has llegado al {sign} que está {place}. Vuelve {target}.{heed}",
        to_coda: "Has llegado al {sign} que está {place}. Salta ahora {target}.",
        then_coda: "Has llegado al {Sign} que está {place}. Ve ahora {target}.",
        heed: Heed {
            fine: "Desde ahora, fíjate en la palabra Fine.",
            coda: "Desde ahora, fíjate en el To Coda.",
            segno: "Luego toca hasta llegar al Segno.",
            fine_then_coda: "Cuando llegues a la palabra Fine, ve a la Coda.",
            segno_then_coda: "Cuando llegues al Segno, ve a la Coda.",
        },
    },
    again: Again {
        one: "Haz lo mismo {times} veces más.",
        many: "Haz los últimos {moves} pasos {times} veces más.",
    },
    unsettled: "Esto también se puede tocar en otro orden. Pregunta por qué camino se va aquí.",
    ends: Ends {
        fine: "Has llegado al Fine que está {place}. Ese es el final.",
        segno: "Has llegado al Segno que está {place}. El {jump} dice que hay que parar antes.",
        last_measure: "El compás {measure} es el último. Ese es el final.",
        past_endings: "Ninguna casilla de las que siguen es para esta vez. Ese es el final.",
        nothing: "No hay nada que tocar: ninguna casilla es para la primera vez.",
    },
    returns: Returns {
        omitted: "Tocas sin repeticiones: no hagas caso de los puntos.",
        by_custom: "Después de un {sign} ya no se repite: no hagas caso de los puntos.",
        by_board: "Aquí, después de un {sign} ya no se repite: no hagas caso de los puntos.",
        by_jump: "Las palabras junto a este {sign} dicen que ya no se repite: no hagas caso de los puntos.",
        by_end_repeat: "En el camino de vuelta no cuentan los puntos que están {place}.",
        made_again: "Las palabras junto a este {sign} dicen que repitas otra vez: haz caso de los puntos.",
    },
    sounding: Sounding {
        one_hand: "{measures} tu mano {hand} toca {shift}.",
        only: "{measures} toca solo tu mano {hand}.",
        silent: "{measures} las dos manos descansan.",
        hold: "{measures} espera en el calderón.",
        hold_hand: "{measures} espera en el calderón con la mano {hand}.",
        ..TEACHER.sounding
    },
    ..TEACHER
};

/// The number as it stands before `vez`: feminine.
fn nth(number: u32) -> String {
    const WORDS: [&str; 10] = [
        "primera", "segunda", "tercera", "cuarta", "quinta", "sexta", "séptima", "octava",
        "novena", "décima",
    ];
    let word = number
        .checked_sub(1)
        .and_then(|before| WORDS.get(usize::try_from(before).ok()?));
    word.map_or_else(|| format!("{number}.ª"), |word| (*word).to_owned())
}

#[cfg(test)]
mod tests {
    use super::nth;

    #[test]
    fn numbers_count_as_they_are_spoken() {
        assert_eq!(
            [1, 3, 10, 11].map(nth),
            ["primera", "tercera", "décima", "11.ª"]
        );
    }
}
