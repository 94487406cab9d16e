//! Spanish words of the trade that mean the contrary of each other: common practice, no source.

/// Each pair both ways, in the masculine singular; what ends in “o” is turned round in each of its four forms.
const PAIRS: &[(&str, &str)] = &[
    ("levantado", "bajado"),
    ("apretado", "flojo"),
    ("apretado", "suelto"),
    ("apretado", "aflojado"),
    ("conectado", "desconectado"),
    ("enchufado", "desenchufado"),
    ("puesto", "quitado"),
    ("puesto", "suelto"),
    ("calzado", "descalzado"),
    ("calzado", "suelto"),
    ("bloqueado", "suelto"),
    ("bloqueado", "desbloqueado"),
    ("abierto", "cerrado"),
    ("frío", "caliente"),
    ("lleno", "vacío"),
    ("montado", "desmontado"),
    ("sujeto", "suelto"),
    ("apoyado", "colgado"),
    ("quieto", "movido"),
    ("firme", "blando"),
    ("parado", "encendido"),
    ("apagado", "encendido"),
    ("seguro", "inseguro"),
    ("limpio", "sucio"),
    ("seco", "mojado"),
    ("recto", "torcido"),
    ("izquierdo", "derecho"),
    ("delantero", "trasero"),
    ("interior", "exterior"),
    ("vivo", "muerto"),
    ("nuevo", "viejo"),
    ("bueno", "malo"),
    ("alto", "bajo"),
    ("duro", "blando"),
    ("descubierto", "cubierto"),
    ("descubierto", "tapado"),
    ("libre", "ocupado"),
    ("contado", "perdido"),
    ("despejado", "ocupado"),
    ("guardado", "perdido"),
    ("descargado", "cargado"),
    ("todo", "alguno"),
    ("ambos", "ninguno"),
    ("primero", "último"),
    ("arriba", "abajo"),
    ("dentro", "fuera"),
    ("delante", "detrás"),
    ("encima", "debajo"),
    ("sobre", "bajo"),
    ("antes", "después"),
    ("con", "sin"),
    ("nadie", "alguien"),
    ("nada", "algo"),
    ("siempre", "nunca"),
    ("mi", "su"),
    ("mis", "sus"),
];

/// Numbers in order: a count one off is as wrong as the contrary.
const COUNTS: [&str; 13] = [
    "cero", "uno", "dos", "tres", "cuatro", "cinco", "seis", "siete", "ocho", "nueve", "diez",
    "once", "doce",
];

/// What could stand instead of the word and would make the sentence false.
pub(super) fn opposites(word: &str) -> Vec<String> {
    let mut others: Vec<String> = Vec::new();
    for (one, other) in PAIRS {
        for (from, to) in [(one, other), (other, one)] {
            let forms = ["o", "a", "os", "as"];
            let form = forms.into_iter().find(|ending| {
                let stem = from.strip_suffix('o');
                stem.is_some_and(|stem| word.strip_suffix(ending) == Some(stem))
            });
            others.extend(match form {
                Some(ending) => Some(inflected(to, ending)),
                None => (*from == word).then(|| (*to).to_owned()),
            });
        }
    }
    if let Some(at) = COUNTS.iter().position(|count| *count == word) {
        let neighbours = [at.checked_sub(1), Some(at + 1)].into_iter().flatten();
        others.extend(neighbours.filter_map(|at| Some((*COUNTS.get(at)?).to_owned())));
    }
    others
}

/// A word with the ending of another: “flojo” to “flojas”, “caliente” to “calientes”.
fn inflected(word: &str, ending: &str) -> String {
    let plural = ending.ends_with('s');
    match word.strip_suffix('o') {
        Some(stem) => format!("{stem}{ending}"),
        None if plural && word.ends_with(['a', 'e', 'i', 'u']) => format!("{word}s"),
        None if plural && !word.ends_with('s') => format!("{word}es"),
        None => word.to_owned(),
    }
}
