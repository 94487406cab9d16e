# Lo que el programa dice por sí mismo, en español (Project Fluent, projectfluent.org). Los nombres y los huecos son los
# de `assistant/steps/src/lines.rs`; sus pruebas dicen lo que falta. Se trata de usted. Los valores del procedimiento
# (nombres de cosas, lo que significa un hecho, confirmaciones) se ponen como el procedimiento los escribe: por eso
# ninguna frase pide género ni número a un nombre que no conoce ("sin apretar", no "flojo" o "floja").

## Empezar y preparar

usual_caution = La información de servicio del fabricante, las normas locales y la práctica autorizada valen más que todo lo que yo diga. Si tiene dudas, no siga.
usual_caution_on_paper = La información de servicio del fabricante, las normas locales y la práctica autorizada valen más que todo lo que dice esta hoja. Si tiene dudas, no siga.
then_the_check_word = Después, la palabra de control.
rehearsal = Esto es un ensayo. Su registro no prueba ningún trabajo.
recordings = Este trabajo se hace con grabaciones. Su registro no prueba ningún trabajo.
no_source = { $what }: la ficha del vehículo no indica la fuente de uno de estos valores. Compruébelo antes de usarlo.
without_source = La ficha del vehículo no indica la fuente de: { $values }. Compruebe cada valor antes de usarlo.
without_source_and_more = La ficha del vehículo no indica la fuente de: { $values }; y { $count } más. Compruebe cada valor antes de usarlo.
put_on = Póngase
tools_to_lay_out = Prepare estas herramientas
parts_to_lay_out = Prepare estas piezas
consumables_to_lay_out = Prepare estos consumibles
lay_out = { $heading }: { $list }. Diga siguiente cuando esté listo.
lay_out_first = { $heading }: { $list }; y más. Diga siga, o todo está preparado.
lay_out_and_more = { $heading }: { $list }; y más. Diga siga.
# Tras cinco cosas de una lista.
and_more = { $list }; y más
go_on_for_more = Diga siga.
# Las palabras de aviso de ANSI Z535.6, como se traducen en las etiquetas bilingües.
notice = Aviso
caution = Precaución
warning = Advertencia
danger = Peligro
# Colores que pide un punto de espera: no debe haber dos que suenen igual.
orange = naranja
brown = marrón
yellow = amarillo
silver = plata
black = negro
magenta = magenta

## Volver al trabajo

taking_up_again = Se reanuda el trabajo: { $title }.
was_taken_up_again = se reanudó el trabajo
clock_was_set_back = se atrasó el reloj
was_long_pause = hubo una pausa larga
asking_again = Tengo que comprobar algunas cosas otra vez: { $why }.
no_longer_true = Hay que confirmar otra vez: { $facts }.

## Lo que se oyó

did_not_get_that = No le entendí.
did_you_say = ¿Dijo { $words }?
not_sure_yes_or_no = No estoy seguro. ¿Sí o no?
say_it_again = Entonces, repítalo.
already_open = Ya hay un trabajo abierto.
holding_on = Espero. Diga continúe.
go_ahead_with_note = Diga la nota.
say_note_first = Primero diga tome nota.
noted = Anotado.
waiting = De acuerdo, espero.
no_question_open = No le pregunté nada.

## Puntos de espera

no_hold_point = Aquí no hay ningún punto de espera.
not_the_words = esas no son las palabras
words_of_another = esas son las palabras de otro punto de espera
not_the_colour = esa no es la palabra de control
spoken_words_only = un punto de espera solo se abre con la voz
not_sure_of_words = no estoy seguro de haber oído bien las palabras
yes_or_no_is_not_enough = un sí o un no no basta
not_going_on = todavía no puedo seguir
waiting_for_the_words = Estoy esperando.
not_right_yet = Parece que todavía no está bien. Corríjalo y avíseme.
heard_and_recorded = Oído y registrado.
taken_back = Anulado.
nothing_to_take_back = No hay nada que anular.
hold_point = Punto de espera. { $ask } { $words }
check = Comprobación. { $ask } { $words }
words_to_say = Diga: { $words }.
# La palabra de control va antes que las palabras: la voz del programa nunca dice las dos cosas en el orden que abre.
words_and_check_word = Palabra de control: { $colour }. Diga: { $words }, y después la palabra de control.
certain_first = No seguimos hasta que esto sea seguro: { $means }.

## Dónde estamos

place = { $title }, { $phase ->
        [making-safe] dejar todo seguro, paso
       *[working] paso
    } { $number } de { $all }{ $inside ->
        [branch] , en pasos adicionales
       *[list] {""}
    }.
all_steps_done = Todos los pasos están hechos. Diga terminar para cerrar el trabajo.
job_is_closed = El trabajo está cerrado.
first_step = Este es el primer paso.
after_this = Después de esto: { $what }
after_the = Después, { $name }: { $what }
step_is = Paso { $number }: { $what }
no_such_step = No hay paso { $number }.
not_in_this_job = Ningún paso de este trabajo trata de: { $name }.
done_last = Lo último que se hizo: { $what }
which_one = ¿Cuál: { $list }?
parts_left = Piezas nuevas que faltan por montar: { $list }.
no_parts_left = De aquí en adelante no hay piezas nuevas.
try_an_adapter = Pruebe con un alargador o un adaptador. Diga ajuste con adaptador para saber a cuánto ponerla.
or_defer = Si nada llega, diga: { $how }.
never_by_feel = Si nada llega, no apriete a ojo. No está hecho hasta que tenga su par.
hold_point_ahead = un punto de espera: { $means }.
check_ahead = una comprobación: { $means }.
back_to_where_we_were = de vuelta a donde estábamos.
closing_the_job = cerrar el trabajo.
work_comes_next = Ahora viene el trabajo.
no_reason = El procedimiento no da ninguna razón.
no_warning_here = Este paso no tiene advertencia propia. { $caution }
you_can_say = Puede decir: { $list }.
number_in = el número en { $unit }
# Lo que dice el técnico; las palabras antes del nombre han de ser las usuales de `commands.jsgf`.
defer_it = aplazar { $name }
how_many_of = número de { $names }
takes_over = { $person } se hace cargo
signed = firmado { $person }

## Avanzar

nothing_to_choose = Aquí no hay nada que elegir.
not_an_answer = Esa no es una de las respuestas.
answer_first = Primero necesito una respuesta.
reading_first = Primero necesito esta medida: { $name }.
yes_or_no = { $question } ¿Sí o no?
count_stands = { $done ->
        [0] No va ninguna pieza
        [one] Va 1 pieza
       *[other] Van { $done } piezas
    } de { $count }. ¿Ya tienen todas el par final? ¿Sí o no?
next_as_you_go = Entonces diga siguiente tuerca con cada una.
no_help_here = Para eso no tengo ayuda aquí.
is_it_this = ¿Es esto: { $words }? ¿Sí o no?
next_when_done = Diga siguiente cuando esté listo.
nothing_tightened_here = En este paso no se aprieta nada.
all_had_final_torque = { $count ->
        [one] La pieza ya tiene
       *[other] Las { $count } piezas ya tienen
    } el par final. Diga siguiente.

## Cómo habla

slower_now = Ahora más despacio.
faster_now = Ahora más rápido.
louder_now = Ahora más fuerte.
softer_now = Ahora más bajo.
shorter_now = Ahora, respuestas cortas.
fuller_now = Ahora, respuestas completas.
torques_in = Ahora, los pares en { $unit }.

## Lo que no está en su sitio

loose = sin apretar
hand_tight = apriete solo a mano
off = fuera de su sitio
not_done = sin hacer
left = { $name }, { $how }
how_deferred = { $how }, queda para después
not_measured = { $name }, sin medir, queda para después
not_in_place = Pendiente: { $things }.
not_in_place_recorded = Pendiente: { $things }. Así consta en el registro.
still_to_come = Aún falta: { $things }.
still_to_do = Queda por hacer: { $things }.
still_to_do_tag = Queda por hacer: { $things }. Escríbalo en la etiqueta de la llave de contacto.
everything_in_place = Todo está en su sitio.
cannot_be_left = Eso no se puede dejar para después.
to_leave_it = Para dejarlo para después, diga: { $how }.
stays = Queda así, y consta en el registro: { $name }, { $how }. ¿Sí o no?
deferred = Aplazado; consta en el registro. Para dar el motivo, diga tome nota.

## Cerrar y abandonar

not_begun = El trabajo no ha empezado. Para dejarlo, diga abandonar.
make_safe_first = Primero dejamos todo seguro.
undeferred = pendiente: { $things }
steps_left = { $count ->
        [one] falta 1 paso
       *[other] faltan { $count } pasos
    }
not_finished = Sin terminar: { $what }.
go_on_or_defer = Siga, o diga: aplazar { $name }.
go_back_or_abandon = Vuelva a eso, o abandone el trabajo: el vehículo no puede volver así al servicio.
finished = El trabajo está terminado y registrado.
closed_with_deferred = El trabajo queda cerrado, con tareas aplazadas: { $things }.
give_up = ¿Abandonar el trabajo y dejar todo seguro? ¿Sí o no?
giving_up_already = Ya se está abandonando el trabajo.
given_up = Se abandona el trabajo. { $left }
nothing_left_off = Nada queda fuera de su sitio.
will_wait = El trabajo esperará una pieza. Primero dejamos todo seguro. ¿Sí o no?
will_wait_for = El trabajo esperará esta pieza: { $part }. Primero dejamos todo seguro. ¿Sí o no?
waits = El trabajo espera una pieza. Cuando la tenga, diga: la pieza está aquí.
waits_for = El trabajo espera esta pieza: { $part }. Cuando la tenga, diga: la pieza está aquí.
no_part_missing = Que yo sepa, no falta ninguna pieza.
why_pause = ¿Por qué fue la pausa: una pieza, una herramienta, ayuda, un descanso u otro trabajo? O sáltelo.

## Personas

nobody_is_named = Todavía no sé quién trabaja. Diga su nombre y después se hace cargo.
has_the_job = { $person } tiene el trabajo.
is_taking_over = { $person } se hace cargo del trabajo. ¿Es correcto?
say_name_again = Entonces, repita el nombre.
everything_done = Todo está hecho
done_but_deferred = Todo está hecho menos lo aplazado: { $things }
and_your_name = y su nombre
to_sign = { $done }. Para firmar diga: firmado, { $person }.
not_all_done = No puede firmar hasta que todo esté hecho.
signature_is_spoken = Se firma con la voz.
not_sure_of_name = No estoy seguro de haber oído bien el nombre. Firme otra vez.
signed_by = Firma { $person }. ¿Es correcto?
unknown_name = Ese nombre no está en la lista de este taller.

## Medidas

no_reading_here = En este paso no necesito ninguna medida.
cannot_be = { $value } { $unit } no puede ser. { $name }: entre { $least } y { $most } { $unit }.
read_back = { $reading }. ¿Es correcto?
say_reading_again = Entonces, repita la medida: { $name }.
reading_no_longer_asked = Ya no necesito esa medida.
recorded = Registrado.
recorded_within = Registrado. Dentro de los límites, { $limits }.
recorded_out = Registrado. Fuera de los límites: debería ser { $limits }.
recorded_unusable = Registrado. No se puede usar.
limits_between = de { $min } a { $max } { $unit }
at_least = como mínimo { $min } { $unit }
at_most = como máximo { $max } { $unit }

## Elementos de fijación y medidas de llave

no_fastener_at_hold = En este punto no hay tornillos ni tuercas.
no_fastener_here = En este paso no hay tornillos ni tuercas.
eyes_and_hands = Aquí solo necesita los ojos y las manos.
no_tool = Para este paso no se indica ninguna herramienta.
torque_wrench = llave dinamométrica
size = { $shape } de { $size }
hex = hexagonal
hex_key = hexagonal interior
twelve_point = bihexagonal
six_lobe = de seis lóbulos
slotted = de ranuras
no_size = No se indica la medida. { $name }.
deep = en largo
set_lacks_it = Esa medida no la tiene.
stands_in = Esa medida no la tiene. Le sirve la de { $size }: { $tools }.
have_it = La tiene: { $tools }.
have_it_not_deep = La tiene, pero no en largo: { $tools }.
drive_socket = vaso con cuadrado de { $drive }
deep_drive_socket = vaso largo con cuadrado de { $drive }
key = llave macho
spanner = llave fija
too_wide = No use la de { $size }. Es demasiado ancha y redondea las aristas.
too_small = No meta a la fuerza la de { $size }. Es demasiado pequeña y redondea las aristas.
does_not_fit = No use la de { $size }. No encaja.

## Caballetes

no_load_here = El procedimiento no da aquí ninguna carga. Guíese por las placas del vehículo y de los caballetes.
load_on_each = Carga en cada caballete: { $load } de los { $mass } del vehículo, { $by }.
rated_each = Capacidad de { $mass } por caballete, { $by }: { $allowed } en cada uno.
rated_pair = Capacidad de { $mass } por pareja, { $by }: { $allowed } en cada uno.
stands_hold = Según estas cifras, los caballetes aguantan.
stands_too_weak = Los caballetes no aguantan. No se meta debajo.
lifting_points = Los caballetes van en los puntos de elevación del fabricante.
by_procedure = cifra del procedimiento
by_technician = cifra suya
by_plate = cifra de la placa

## Par de apriete

newton_metres = newton metro
newton_centimetres = newton centímetro
foot_pounds = libra pie
inch_pounds = libra pulgada
kilogram_metres = kilogramo fuerza metro
kilogram_centimetres = kilogramo fuerza centímetro
no_torque_yet = Todavía no le di ningún par.
no_torque = No se indica ningún par: { $name }.
plus_the = más esta medida: { $name }
running_torque_added = con { $torque } de par de giro libre sumados
running_torque_too_high = El par de giro libre, { $running }, debe ser menor que el par mismo, { $target }. Revise la rosca, ponga una tuerca nueva y mida otra vez.
running_torque_unusable = Un par debe ser mayor que cero y menor que 10000 N·m.
with_added = { $added }.
group_gets = { $names }: { $torque }, { $added }.
further_turn = después { $angle }° más
further_turn_to_yield = después { $angle }° más, pasado el límite elástico
allowed = Permitido: de { $low } a { $high }.
criss_cross = En cruz.
in_a_star = En estrella.
one_after_the_other = Uno tras otro.
threadlocker = Fijador de roscas: { $what }.
threads = Rosca: { $what }.
use_new = { $count ->
        [one] Ponga pieza nueva.
       *[other] Ponga piezas nuevas.
    }
used_again = Se puede reutilizar si está en buen estado: { $name }.
no_threads = El procedimiento no dice nada de la rosca: { $name }.
in_this_pass = En esta pasada, { $pass }; par final, { $torque }.
in_passes = En { $count } pasadas: { $list }.
then = luego
pass_of = Pasada { $pass } de { $passes }.
pass_to = Pasada { $pass } de { $passes }, a { $torque }.
fastener_at = { $name } { $number }, a { $clock ->
        [1] la una
       *[other] las { $clock }
    } del reloj.
done_of = Van { $done } de { $things }.
had_final_torque = { $count ->
        [one] La pieza ya tiene
       *[other] Las { $count } piezas ya tienen
    } el par final.
one_pass = Una pasada, a { $torque }.
comes_again = Reapriete después de { $after }: { $names }.
tighten_again_after = { $names }: reapretar después de { $after }, a { $torque }
cannot_be_told_in = No puedo dar { $torque } en { $unit }.
set_wrench = Ponga { $wrench } a { $torque }.
set_your_wrench = Ponga su llave a { $torque }.
in_the_end_set_wrench = Para el par final, ponga { $wrench } a { $torque }.
in_the_end_set_your_wrench = Para el par final, ponga su llave a { $torque }.
set_wrench_for_pass = Para esta pasada, ponga { $wrench } a { $torque }.
set_your_wrench_for_pass = Para esta pasada, ponga su llave a { $torque }.
take_wrench_for_pass = Para esta pasada use { $wrench }, a { $torque }.
no_mark_for_pass = { $wrench } no tiene marca para esta pasada, { $torque }. Use una llave que la tenga.
none_suits = Ninguna de sus llaves dinamométricas sirve para { $torque }. { $reasons }.
none_suits_adapter = Ninguna de sus llaves dinamométricas sirve con { $adapter }. { $reasons }.
no_tools_known = Todavía no conozco sus herramientas. Agregue su adaptador y su llave dinamométrica al archivo de herramientas.
no_adapter = En su archivo de herramientas no hay ningún adaptador.
no_adapter_fits = Ninguno de sus adaptadores sirve: { $size }.
no_torque_wrench = En su archivo de herramientas no hay ninguna llave dinamométrica.
with_adapter = Con { $adapter }, ponga { $wrench } a { $setting }; en la pieza, { $fastener }, son { $torque }.
with_adapter_in_pass = Con { $adapter }, ponga { $wrench } a { $setting } en esta pasada; en la pieza, { $fastener }, son { $torque }.
adapter_no_mark = Con { $adapter }, { $wrench } no tiene marca para esta pasada, { $torque }. Use otra llave.
calibration_overdue = { $days ->
        [one] La calibración de { $wrench } venció hace 1 día.
       *[other] La calibración de { $wrench } venció hace { $days } días.
    }
calibration_unknown = Nadie anotó cuándo vence la calibración de { $wrench }.
tolerance_not_held = { $wrench } puede desviarse un { $percent } %. No es lo bastante exacta para { $torque }.
reason_no_wrench = no hay ninguna llave dinamométrica en el archivo de herramientas
reason_low_in_range = el ajuste es solo el { $percent } % de su escala; use una llave más pequeña
reason_below_scale = su escala empieza en { $torque }; use una llave más pequeña
reason_above_scale = su escala termina en { $torque }; use una llave más grande
reason_between_marks = ninguna marca de su escala queda cerca, con pasos de { $torque }; use una llave de escala más fina
reason_too_coarse = su marca más cercana, { $torque }, se aparta más del 1 %; use una llave de escala más fina
reason_no_length = no se sabe su longitud del puño al cuadrado; mídala para el adaptador
reason_wrench_length = la longitud de la llave, del puño al cuadrado, debe estar entre 50 mm y 3 m
reason_adapter_length = la longitud del adaptador, del cuadrado a la pieza, debe estar entre 0 y 1 m
reason_adapter_angle = el ángulo entre adaptador y llave debe estar entre −180° y 180°
reason_adapter_factor = con este adaptador la pieza recibe { $times } veces el ajuste; use uno que lo deje entre 0.5 y 4 veces
reason_adapter_torque = el par debe ser mayor que cero y menor que 10000 N·m

## Esperas

seconds = { $count ->
        [one] 1 segundo
       *[other] { $count } segundos
    }
minutes = { $count ->
        [one] 1 minuto
       *[other] { $count } minutos
    }
hours = { $count ->
        [one] 1 hora
       *[other] { $count } horas
    }
hours_and_minutes = { $hours } horas y { $minutes ->
        [one] 1 minuto
       *[other] { $minutes } minutos
    }
miles = { $count } millas
time_left = faltan { $time }
over = terminada
wait_runs_on = La espera no ha terminado. Quedan { $time }.
cut_it_short = Quedan { $time } de espera. ¿La acorta? Consta en el registro. ¿Sí o no?
go_on_without_wait = { $why } ¿Sigue sin esperar? Consta en el registro. ¿Sí o no?
temperature_not_read = No tengo ninguna temperatura.
no_time_for = La fuente no da tiempo para { $asked } °C, solo de { $coldest } a { $hottest } °C. Caliente o enfríe la pieza, o pregunte al fabricante.
takes_at = A { $temperature } hacen falta { $time }.
tighten_again = Reapriete: { $name }
time_is_up = Se acabó el tiempo. Diga siguiente para seguir.
wait_is_over = Se acabó el tiempo: { $what }.
has_settled = Ya se asentó. Ahora: { $what }.
no_wait = No hay ninguna espera en marcha.
wait_goes_on = La espera sigue.
only_making_safe = Solo falta dejar todo seguro.
only_closing = Solo falta cerrar el trabajo.
minutes_left = Faltan unos { $left } de { $whole } minutos.

## Lo que el programa dice de sí mismo

cannot_record = No puedo escribir el registro. Me quedo esperando.
heard = Oído.
could_not_hear = No pude entender eso. Dígalo otra vez.
one_ear_left = Falló uno de mis dos oídos. Ahora solo oigo con el otro.
opens_no_gate = Con ese oído no se abre ningún punto de espera.
cannot_hear = No oigo nada. Me quedo esperando.
hears_again = Ya vuelvo a oír.
talk_goes_on = Sigo oyendo voces. Necesito un segundo de silencio antes y después de las palabras.
procedure_changed = El procedimiento cambió desde que empezó este trabajo. Así consta en el registro.
another_voice = Ahora con esta voz.
no_other_voice = No tengo otra voz.
listens_to_all = Escucho todo.
# Siguen dos puntos y el nombre.
call_first = Llámeme primero
has_no_name = No tengo nombre. Se da al principio.
press_first = Pulse primero la tecla.
has_no_key = Aquí no hay ninguna tecla.

## Órdenes como las nombra la ayuda: frases de `commands.jsgf`

say_next = siguiente
say_back = volver atrás
say_again = repita
say_slower = más despacio
say_faster = más rápido
say_louder = más fuerte
say_softer = más bajo
say_another_voice = otra voz
say_shorter = respuestas cortas
say_fuller = respuestas completas
say_to_everything = escuche a todos
say_by_name = espere su nombre
say_on_press = espere la tecla
say_tell_me_more = dígame más
say_where_am_i = dónde estoy
say_whats_next = qué viene después
say_what_size = qué medida
say_what_torque = qué par
say_in_newton_metres = en newton metro
say_in_foot_pounds = en libra pie
say_wrench_setting = a cuánto pongo la llave
say_with_adapter = con el adaptador
say_which_pass = qué pasada
say_what_load = qué carga
say_waits_left = cuánto hay que esperar
say_how_long_left = cuánto queda de trabajo
say_how_many = cuántos son
say_what_tool = qué herramienta
say_threads = en seco o con aceite
say_reuse = se puede reutilizar
say_why = por qué
say_read_the_warning = lea la advertencia
say_whats_off = qué está suelto
say_next_fastener = siguiente tuerca
say_note = tome nota
say_yes = sí
say_no = no
say_not_yet = todavía no
say_take_back = no espere
say_hold_on = espere
say_carry_on = continúe
say_stop = pare
say_finish = terminar
say_abandon = abandonar
say_help = ayuda
say_trouble = no se mueve
say_skip = sáltelo
say_parts_left = qué piezas necesito todavía
say_part_missing = falta una pieza
say_part_here = la pieza está aquí
say_needed_part = necesitaba una pieza
say_needed_tool = necesitaba una herramienta
say_needed_help = necesitaba ayuda
say_took_break = hice un descanso
say_other_job = tuve otro trabajo
say_no_room = no cabe la llave dinamométrica
say_laid_out = todo está preparado
