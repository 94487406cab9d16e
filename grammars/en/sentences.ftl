# What the program says by itself, in English (Project Fluent, projectfluent.org). The names and the placeholders are
# those of `assistant/steps/src/lines.rs`, whose tests say what is missing. Values of the procedure (names of things,
# what a fact means, readbacks) are put in as the procedure writes them.

## Beginning and laying out

usual_caution = The maker's service information, local codes and licensed practice come before anything I say. If in doubt, don't go on.
usual_caution_on_paper = The maker's service information, local codes and licensed practice come before anything on this sheet. If in doubt, don't go on.
then_the_check_word = Then the check word.
rehearsal = This is a rehearsal. Its record is no proof of work.
recordings = This job runs on recordings. Its record is no proof of work.
no_source = { $what }: the vehicle's sheet gives no source for one of these values. Check it before you use it.
without_source = The vehicle's sheet gives no source for: { $values }. Check each before you use it.
without_source_and_more = The vehicle's sheet gives no source for: { $values }; and { $count } more. Check each before you use it.
put_on = Put on
tools_to_lay_out = Tools to lay out
parts_to_lay_out = Parts to lay out
consumables_to_lay_out = Consumables to lay out
lay_out = { $heading }: { $list }. Say next when that's done.
lay_out_first = { $heading }: { $list }; and more. Say go on, or it's all laid out.
lay_out_and_more = { $heading }: { $list }; and more. Say go on.
# After five things of a list.
and_more = { $list }; and more
go_on_for_more = Say go on.
# The signal words of ANSI Z535.6.
notice = Notice
caution = Caution
warning = Warning
danger = Danger
# Colours that a hold point asks for as check words: no two may sound alike.
orange = orange
brown = brown
yellow = yellow
silver = silver
black = black
magenta = magenta

## Coming back

taking_up_again = Resuming the job: { $title }.
# Why hold points ask again: after "since".
was_taken_up_again = the job was resumed
clock_was_set_back = the clock was set back
was_long_pause = there was a long pause
asking_again = I need to check some things again: { $why }.
no_longer_true = No longer confirmed: { $facts }.

## What was heard

did_not_get_that = I didn't catch that.
did_you_say = Did you say { $words }?
not_sure_yes_or_no = I'm not sure. Yes or no?
say_it_again = Say it again, then.
already_open = There's already a job open.
holding_on = I'm holding. Say carry on.
go_ahead_with_note = Go ahead with the note.
say_note_first = First say take a note.
noted = Noted.
waiting = All right, I'm waiting.
no_question_open = I haven't asked you anything.

## Hold points

no_hold_point = There's no hold point here.
# Why one stays closed: in the record, and at the beginning of a sentence.
not_the_words = those aren't the words
words_of_another = those are the words for another hold point
not_the_colour = that's the wrong check word
spoken_words_only = a hold point only opens by voice
not_sure_of_words = I'm not sure I heard the words
yes_or_no_is_not_enough = yes or no isn't enough
not_going_on = I can't go on yet
waiting_for_the_words = I'm waiting.
not_right_yet = Sounds like it isn't right yet. Fix it, then tell me.
heard_and_recorded = Heard and recorded.
taken_back = Taken back.
nothing_to_take_back = There's nothing to take back.
hold_point = Hold point. { $ask } { $words }
check = Check. { $ask } { $words }
words_to_say = Say: { $words }.
# The check word comes before the words: the program's own voice never says both in the order that opens.
words_and_check_word = Check word: { $colour }. Say: { $words }, then the check word.
certain_first = We don't go on until this is certain: { $means }.

## Where we are

place = { $title }, { $phase ->
        [making-safe] making safe, step
       *[working] step
    } { $number } of { $all }{ $inside ->
        [branch] , in extra steps
       *[list] {""}
    }.
all_steps_done = All steps are done. Say finish to close the job.
job_is_closed = The job is closed.
first_step = This is the first step.
after_this = After this: { $what }
after_the = After the { $name }: { $what }
step_is = Step { $number }: { $what }
no_such_step = There is no step { $number }.
not_in_this_job = No step here is about the { $name }.
done_last = Done last: { $what }
which_one = Which one: { $list }?
parts_left = New parts still to go in: { $list }.
no_parts_left = No new parts from here on.
try_an_adapter = Try an extension or a crowfoot. Say with adapter for what to set.
or_defer = If nothing reaches, say: { $how }.
never_by_feel = If nothing reaches, don't tighten by feel. It isn't done until it's torqued.
hold_point_ahead = a hold point: { $means }.
check_ahead = a check: { $means }.
back_to_where_we_were = back to where we were.
closing_the_job = closing the job.
work_comes_next = The work comes next.
no_reason = The procedure gives no reason.
no_warning_here = This step has no warning of its own. { $caution }
you_can_say = You can say: { $list }.
number_in = the number in { $unit }
# What a technician says; the words before the name must be the usual ones of `commands.jsgf`.
defer_it = defer the { $name }
how_many_of = how many { $names }
takes_over = { $person } takes over
signed = signed { $person }

## Moving on

nothing_to_choose = There's nothing to choose here.
not_an_answer = That's not one of the answers.
answer_first = First I need an answer.
reading_first = First I need the { $name }.
yes_or_no = { $question } Yes or no?
count_stands = I've counted { $done ->
        [0] none
       *[other] { $done }
    } of { $count }. Are they all at final torque? Yes or no?
next_as_you_go = Then say next one as you go.
no_help_here = I have no help for that here.
is_it_this = Is it this: { $words }? Yes or no?
next_when_done = Say next when it's done.
nothing_tightened_here = Nothing gets tightened in this step.
all_had_final_torque = All { $count } are at final torque. Say next.

## How it speaks

slower_now = Slower from now on.
faster_now = Faster from now on.
louder_now = Louder from now on.
softer_now = Softer from now on.
shorter_now = Short answers from now on.
fuller_now = Full answers from now on.
torques_in = Torques in { $unit } from now on.

## What isn't in place

loose = loose
hand_tight = only hand-tight
off = off
not_done = not done
left = { $name } { $how }
how_deferred = { $how }, deferred
not_measured = { $name } not measured, deferred
not_in_place = Not in place: { $things }.
not_in_place_recorded = Not in place: { $things }. The record says so.
still_to_come = Still to come: { $things }.
still_to_do = Still to do: { $things }.
still_to_do_tag = Still to do: { $things }. Write it on the key tag.
everything_in_place = Everything is in place.
cannot_be_left = You can't leave that for later.
to_leave_it = To leave it for later, say: { $how }.
stays = The { $name } stays { $how }, on the record. Yes or no?
deferred = Deferred, on the record. To give the reason, say take a note.

## Closing and giving up

not_begun = The work hasn't started. To give it up, say abandon.
make_safe_first = First we make it safe.
undeferred = not in place: { $things }
steps_left = { $count ->
        [one] 1 step is left
       *[other] { $count } steps are left
    }
not_finished = Not finished: { $what }.
go_on_or_defer = Go on, or say: defer the { $name }.
go_back_or_abandon = Go back to it, or abandon the job: the vehicle can't go back into service like this.
finished = The job is finished and recorded.
closed_with_deferred = The job is closed, with work deferred: { $things }.
give_up = Give up the job and make everything safe? Yes or no?
giving_up_already = The job is already being given up.
given_up = The job is given up. { $left }
nothing_left_off = Nothing is left off.
will_wait = The job will wait for a part. First we make everything safe. Yes or no?
will_wait_for = The job will wait for this part: { $part }. First we make everything safe. Yes or no?
waits = The job is waiting for a part. Once you have it, say: the part is here.
waits_for = The job is waiting for this part: { $part }. Once you have it, say: the part is here.
no_part_missing = As far as I know, no part is missing.
why_pause = What was the pause for: a part, a tool, help, a break or another job? Or skip it.

## People

nobody_is_named = I don't know who's working yet. Say your name, then takes over.
has_the_job = { $person } has the job.
is_taking_over = { $person } is taking over. Is that right?
say_name_again = Say the name again, then.
everything_done = Everything is done
done_but_deferred = Everything is done except what was deferred: { $things }
and_your_name = and your name
to_sign = { $done }. To sign it off say: signed, { $person }.
not_all_done = You can't sign off until everything is done.
signature_is_spoken = You sign off by voice.
not_sure_of_name = I'm not sure I heard the name. Sign again.
signed_by = Signed by { $person }. Is that right?
unknown_name = That name isn't on this bay's list.

## Readings

no_reading_here = I don't need a reading in this step.
cannot_be = { $value } { $unit } can't be right: the { $name } is between { $least } and { $most } { $unit }.
read_back = { $reading }. Is that right?
say_reading_again = Say the { $name } again, then.
reading_no_longer_asked = I no longer need that reading.
recorded = Recorded.
recorded_within = Recorded. Within limits, { $limits }.
recorded_out = Recorded. Out of limits: it should be { $limits }.
recorded_unusable = Recorded. It can't be used.
limits_between = from { $min } to { $max } { $unit }
at_least = at least { $min } { $unit }
at_most = at most { $max } { $unit }

## Fasteners and sizes

no_fastener_at_hold = There's no fastener at this point.
no_fastener_here = There's no fastener in this step.
eyes_and_hands = You only need your eyes and hands here.
no_tool = No tool is given for this step.
torque_wrench = torque wrench
size = { $size } { $shape }
hex = hex
hex_key = hex key
twelve_point = twelve-point
six_lobe = six-lobe
slotted = slotted
no_size = No size is given for the { $name }.
deep = deep
set_lacks_it = You haven't got that one.
stands_in = You haven't got that one. Your { $size } will do: { $tools }.
have_it = You have it: { $tools }.
have_it_not_deep = You have it, but not deep: { $tools }.
drive_socket = { $drive } drive socket
deep_drive_socket = { $drive } drive deep socket
key = key
spanner = spanner
too_wide = Don't use your { $size }. It's too wide and will round the corners.
too_small = Don't force your { $size } on. It's too small and will round the corners.
does_not_fit = Don't use your { $size }. It doesn't fit.

## Stands

no_load_here = The procedure gives no load here. Go by the plates on the vehicle and the stands.
load_on_each = Load on each stand: { $load } of { $mass } for the vehicle, { $by }.
rated_each = Rated { $mass } each, { $by }: { $allowed } for each.
rated_pair = Rated { $mass } a pair, { $by }: { $allowed } for each.
stands_hold = By these figures the stands will hold.
stands_too_weak = The stands are too weak. Don't go under.
lifting_points = The stands go under the maker's lifting points.
by_procedure = the procedure's figure
by_technician = your figure
by_plate = the plate's figure

## Torque

newton_metres = newton metres
newton_centimetres = newton centimetres
foot_pounds = foot-pounds
inch_pounds = inch-pounds
kilogram_metres = kilogram-force metres
kilogram_centimetres = kilogram-force centimetres
no_torque_yet = I haven't given you a torque yet.
no_torque = No torque is given for the { $name }.
plus_the = plus the { $name }
running_torque_added = { $torque } running torque added
running_torque_too_high = The running torque, { $running }, must be below the torque itself, { $target }. Check the thread, fit a new nut, measure again.
running_torque_unusable = A torque must be above zero and below 10 000 N·m.
with_added = With { $added }.
group_gets = The { $names } get { $torque }, { $added }.
further_turn = then a further { $angle }°
further_turn_to_yield = then a further { $angle }°, beyond its yield
allowed = Allowed: { $low } to { $high }.
criss_cross = Criss-cross.
in_a_star = In a star.
one_after_the_other = One after the other.
threadlocker = Threadlocker: { $what }.
threads = { $what ->
        [dry] Dry threads.
       *[other] Threads: { $what }.
    }
use_new = { $count ->
        [one] Use a new one.
       *[other] Use new ones.
    }
used_again = The old { $name } can be reused if in good order.
no_threads = The procedure says nothing about threads on the { $name }.
in_this_pass = This pass, { $pass }; final torque, { $torque }.
in_passes = In { $count } passes: { $list }.
# Between the torques of two passes.
then = then
pass_of = Pass { $pass } of { $passes }.
pass_to = Pass { $pass } of { $passes }, to { $torque }.
fastener_at = { $name } { $number }, at { $clock } o'clock.
done_of = { $done } of { $things } done.
had_final_torque = All { $count } are at final torque.
one_pass = One pass, to { $torque }.
comes_again = Re-torque the { $names } after { $after }.
tighten_again_after = re-torque the { $names } after { $after }, to { $torque }
cannot_be_told_in = I can't give { $torque } in { $unit }.
set_wrench = Set the { $wrench } to { $torque }.
set_your_wrench = Set your wrench to { $torque }.
in_the_end_set_wrench = For the final torque, set the { $wrench } to { $torque }.
in_the_end_set_your_wrench = For the final torque, set your wrench to { $torque }.
set_wrench_for_pass = Set the { $wrench } to { $torque } for this pass.
set_your_wrench_for_pass = Set your wrench to { $torque } for this pass.
take_wrench_for_pass = For this pass take the { $wrench }, set to { $torque }.
no_mark_for_pass = The { $wrench } has no mark for this pass, { $torque }. Use a wrench that has one.
none_suits = None of your torque wrenches suits { $torque }. { $reasons }.
none_suits_adapter = None of your torque wrenches suits the { $adapter }. { $reasons }.
no_tools_known = I don't know your tools yet. Add your adapter and torque wrench to the tools file.
no_adapter = There's no adapter in your tools file.
no_adapter_fits = None of your adapters fits { $size }.
no_torque_wrench = There's no torque wrench in your tools file.
with_adapter = With the { $adapter }, set the { $wrench } to { $setting }; the { $fastener } gets { $torque }.
with_adapter_in_pass = With the { $adapter }, set the { $wrench } to { $setting } in this pass; the { $fastener } gets { $torque }.
adapter_no_mark = With the { $adapter } the { $wrench } has no mark for this pass, { $torque }. Use another wrench.
calibration_overdue = { $days ->
        [one] The { $wrench } is 1 day overdue for calibration.
       *[other] The { $wrench } is { $days } days overdue for calibration.
    }
calibration_unknown = Nobody noted when the { $wrench } is due for calibration.
tolerance_not_held = The { $wrench } may be off by { $percent } %. That's not accurate enough for { $torque }.
# Why a wrench can't be taken: after its name and a colon.
reason_no_wrench = there's no torque wrench in the tools file
reason_low_in_range = the setting is only { $percent } % of its range; use a smaller wrench
reason_below_scale = its scale starts at { $torque }; use a smaller wrench
reason_above_scale = its scale ends at { $torque }; use a larger wrench
reason_between_marks = no mark on its scale is near enough, in steps of { $torque }; use a wrench with a finer scale
reason_too_coarse = its nearest mark, { $torque }, is more than 1 % off; use a wrench with a finer scale
reason_no_length = its length from grip to drive square isn't known; measure it for the adapter
reason_wrench_length = the wrench's length from grip to drive square must be between 50 mm and 3 m
reason_adapter_length = the adapter's length from drive square to fastener must be between 0 and 1 m
reason_adapter_angle = the angle between adapter and wrench must be between −180° and 180°
reason_adapter_factor = with this adapter the fastener gets { $times } times the setting; use an adapter that keeps it between 0.5 and 4 times
reason_adapter_torque = the torque must be above zero and below 10 000 N·m

## Waits

seconds = { $count } seconds
minutes = { $count ->
        [one] 1 minute
       *[other] { $count } minutes
    }
hours = { $count ->
        [one] 1 hour
       *[other] { $count } hours
    }
hours_and_minutes = { $hours } hours and { $minutes ->
        [one] 1 minute
       *[other] { $minutes } minutes
    }
miles = { $count } miles
time_left = { $time } left
over = over
wait_runs_on = The wait isn't over. { $time } left.
cut_it_short = { $time } still to wait. Cut it short, on the record? Yes or no?
go_on_without_wait = { $why } Go on without this wait, on the record? Yes or no?
temperature_not_read = I have no temperature.
no_time_for = The source gives no time for { $asked } °C, only from { $coldest } to { $hottest } °C. Warm or cool the part, or ask the maker.
takes_at = At { $temperature } that takes { $time }.
tighten_again = Tighten the { $name } again
time_is_up = Time's up. Say next to go on.
wait_is_over = Time's up: { $what }.
has_settled = It's settled. { $what } now.
no_wait = There's no wait running.
wait_goes_on = The wait goes on.
only_making_safe = Only making safe is left.
only_closing = Only closing the job is left.
minutes_left = About { $left } of { $whole } minutes left.

## What the program tells about itself

cannot_record = I can't write the record. I'm holding.
heard = Heard.
could_not_hear = I couldn't make that out. Say it again.
one_ear_left = One of my two ears has failed. I only hear with the other one now.
opens_no_gate = That one can't open a hold point.
cannot_hear = I can't hear you. I'm holding.
hears_again = I hear you again.
talk_goes_on = I keep hearing talk. I need a second of quiet before and after the words.
procedure_changed = The procedure has changed since this job was started. The record says so.
another_voice = This voice from now on.
no_other_voice = I have no other voice.
listens_to_all = I listen to everything.
# A colon and the name follow.
call_first = Call me first
has_no_name = I have no name. It's set at the start.
press_first = Press the key first.
has_no_key = There's no key here.

## Commands as "what are my options" names them: phrases of `commands.jsgf`

say_next = next
say_back = go back
say_again = say again
say_slower = slower
say_faster = faster
say_louder = louder
say_softer = softer
say_another_voice = another voice
say_shorter = short answers
say_fuller = full answers
say_to_everything = listen to everything
say_by_name = wait for your name
say_on_press = wait for the key
say_tell_me_more = tell me more
say_where_am_i = where am I
say_whats_next = what's next
say_what_size = what size
say_what_torque = what torque
say_in_newton_metres = in newton metres
say_in_foot_pounds = in foot-pounds
say_wrench_setting = what's my wrench set to
say_with_adapter = with the adapter
say_which_pass = which pass
say_what_load = what load
say_waits_left = how much longer
say_how_long_left = how long is left
say_how_many = how many
say_what_tool = what tool
say_threads = dry or oiled
say_reuse = do I reuse it
say_why = why
say_read_the_warning = read the warning
say_whats_off = what's off
say_next_fastener = next one
say_note = take a note
say_yes = yes
say_no = no
say_not_yet = not yet
say_take_back = no wait
say_hold_on = hold on
say_carry_on = carry on
say_stop = stop
say_finish = finish
say_abandon = abandon
say_help = help
say_trouble = it won't budge
say_skip = skip it
say_parts_left = which parts do i still need
say_part_missing = a part is missing
say_part_here = the part is here
say_needed_part = i needed a part
say_needed_tool = i needed a tool
say_needed_help = i needed help
say_took_break = i took a break
say_other_job = another job came up
say_no_room = no room for the torque wrench
say_laid_out = it's all laid out
