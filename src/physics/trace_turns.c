// SPDX-License-Identifier: MIT
#include "physics/trace_turns.h"

#include <math.h>
#include <stdbool.h>
#include <string.h>

enum { ROW = 4, LINES_MOST = 32 };

static const double sure = DW_TRACE_SURE;
static const double weak_share = DW_TRACE_WEAK;
static const double error_least_hz = DW_TRACE_ERROR_LEAST_HZ;
// Or by one that is likelier its own than not, and has a row of so many multiples beside it, each within this of its
// turn.
static const double likelier = 0.5, row_near = 0.1;
// Two lines of one part tell its turn alike within so many standard uncertainties.
static const double contradicts = 3;
// A row of multiples is looked for this many standard uncertainties about a part's rate, where that is known worse than
// to this share.
static const double search_sigmas = 2.5, well_known = 0.001;
// The platter is looked for as well where a line and the tone contradict each other by more than this.
static const double badly_known = 0.01;
// And is one where chance makes it once in so many.
static const double chance_of_row = 1e4;
// What is no multiple of one of its multiples has to be unlikely as well: this share of that.
static const double beside_share = 0.01;

// How many other lines stand at multiples of the turn that LINE is harmonic H of.
static unsigned multiples(const DwTraceLine *lines, size_t count, size_t line, double h)
{
    double turn = lines[line].frequency_hz / h, off = lines[line].uncertainty_hz / h;
    unsigned found = 0;
    for (size_t i = 0; i < count; i++) {
        double times = round(lines[i].frequency_hz / turn);
        double within = fmin(2 * hypot(lines[i].uncertainty_hz, times * off), row_near * turn);
        found += i != line && times >= 1 && fabs(lines[i].frequency_hz - times * turn) < within;
    }
    return found;
}

// Whether line I is surely a harmonic of the turn that RATE stands for: by itself, or rather that than anything else
// while a whole row of its multiples is there, as nothing but a turning part makes it.
static bool is_own(const DwTraceLine *lines, const DwTraceFinding *findings, size_t count, size_t i, const DwRate *rate)
{
    const DwTraceSuspect *first = &findings[i].suspects[0];
    if (first->part != rate->part || first->turn != rate->turn || first->what)
        return false;
    return first->confidence >= sure || (first->confidence >= likelier && findings[i].suspect_count == 1 &&
                                         multiples(lines, count, i, first->harmonic) >= ROW);
}

// Whether line I tells another turn of its part than a line that is more surely that part's: they are not both its.
static bool is_outdone(const DwTraceLine *lines, const DwTraceFinding *findings, size_t count, size_t i)
{
    const DwTraceSuspect *its = &findings[i].suspects[0];
    for (size_t j = 0; j < count; j++) {
        const DwTraceSuspect *other = &findings[j].suspects[0];
        bool surer = other->confidence > its->confidence || (other->confidence == its->confidence && j < i);
        if (j == i || other->part != its->part || other->turn != its->turn || other->what || !surer)
            continue;
        double apart = lines[i].frequency_hz / its->harmonic - lines[j].frequency_hz / other->harmonic;
        double off = hypot(lines[i].uncertainty_hz / its->harmonic, lines[j].uncertainty_hz / other->harmonic);
        if (fabs(apart) > contradicts * fmax(off, error_least_hz))
            return true;
    }
    return false;
}

void dw_trace_follow_turns(const DwRate *stated, DwRate *rates, size_t count)
{
    for (size_t r = 0; r < count; r++)
        for (size_t t = 0; t < count && stated[r].follows != 0; t++) {
            if (stated[t].part != stated[r].part || stated[t].what || stated[t].turn)
                continue;
            double times = stated[r].follows, before = stated[t].uncertainty_hz, now = rates[t].uncertainty_hz;
            double left = pow(stated[r].uncertainty_hz, 2) - times * times * (before * before - now * now);
            rates[r].rate_hz += times * (rates[t].rate_hz - stated[t].rate_hz);
            rates[r].uncertainty_hz = sqrt(fmax(0, left));
        }
}

void dw_trace_refine(const DwTraceLine *lines, const DwTraceFinding *findings, size_t count, size_t skip, DwRate *rates,
                     size_t rate_count)
{
    for (size_t r = 0; r < rate_count; r++)
        for (size_t i = 0; i < count && !rates[r].what && rates[r].part != DW_PART_MAINS; i++) { // a grid wanders
            bool weak = skip < count && lines[i].amplitude < weak_share * lines[skip].amplitude;
            if (i == skip || weak || !is_own(lines, findings, count, i, &rates[r]) ||
                is_outdone(lines, findings, count, i))
                continue;
            // Two values of one rate, each with its doubt: their weighted mean.
            double h = findings[i].suspects[0].harmonic, here = lines[i].frequency_hz / h;
            double here_off = fmax(lines[i].uncertainty_hz, error_least_hz) / h, before_off = rates[r].uncertainty_hz;
            double weight = before_off * before_off / (before_off * before_off + here_off * here_off);
            rates[r].rate_hz += weight * (here - rates[r].rate_hz);
            rates[r].uncertainty_hz = sqrt(1 - weight) * before_off;
        }
}

// What is tried as a part's turn: the line that tells it, and how many others are multiples of it.
typedef struct {
    double turn_hz, off_hz;
    unsigned times[LINES_MOST];   // of each line; 0: it is no multiple
    double by_chance[LINES_MOST]; // how likely a line that stands anywhere comes as near
    size_t count;
    unsigned found;
    double chance; // of as many
} Row;

static void set_line(Row *row, size_t i, const DwTraceLine *line)
{
    double times = round(line->frequency_hz / row->turn_hz);
    double within = 2 * hypot(fmax(line->uncertainty_hz, error_least_hz), times * row->off_hz);
    bool is_near = times >= 1 && times <= DW_TRACE_HARMONICS_MOST && within < row_near * row->turn_hz &&
                   fabs(line->frequency_hz - times * row->turn_hz) < within;
    row->times[i] = is_near ? (unsigned)times : 0;
    row->by_chance[i] = fmin(1, 2 * within / row->turn_hz);
}

// How likely chance puts as many lines into ROW as there are, those of it that are no multiples of OF.
static double chance_of(const Row *row, size_t skip, unsigned of)
{
    double chance = 1;
    for (size_t i = 0; i < row->count; i++)
        if (i != skip && row->times[i] && (of == 1 || row->times[i] % of))
            chance *= row->by_chance[i];
    return chance;
}

// Every row of multiples is a row of a half, a third … of its turn as well: the largest chance that what there is
// beside such a row is none of it.
static double chance_beside(const Row *row, size_t skip)
{
    double chance = 0;
    for (unsigned of = 2; of <= DW_TRACE_HARMONICS_MOST; of++)
        chance = fmax(chance, chance_of(row, row->times[skip] % of ? skip : row->count, of));
    return chance;
}

static Row row_by(const DwTraceLine *lines, size_t count, size_t line, unsigned harmonic)
{
    double off = fmax(lines[line].uncertainty_hz, error_least_hz);
    Row row = {.turn_hz = lines[line].frequency_hz / harmonic, .off_hz = off / harmonic};
    row.count = count < LINES_MOST ? count : LINES_MOST;
    for (size_t i = 0; i < row.count; i++) {
        set_line(&row, i, &lines[i]);
        row.found += row.times[i] > 0;
    }
    row.chance = fmax(chance_of(&row, line, 1), beside_share * chance_beside(&row, line));
    return row;
}

// Whether TURN_HZ may as well be that of another part than RATE, or a multiple of it.
static bool is_anothers(double turn_hz, double off_hz, const DwRate *rate, const DwRate *rates, size_t count)
{
    for (size_t i = 0; i < count; i++) {
        double times = round(turn_hz / rates[i].rate_hz);
        double within = search_sigmas * hypot(off_hz, times * rates[i].uncertainty_hz);
        bool is_told = rates[i].uncertainty_hz < badly_known * rates[i].rate_hz; // else both may be heard there
        bool is_other = rates[i].part != rate->part || rates[i].turn != rate->turn;
        if (is_other && !rates[i].what && times >= 1 && is_told && fabs(turn_hz - times * rates[i].rate_hz) < within)
            return true;
    }
    return false;
}

// The row that chance makes least likely, of a turn that may be RATE's.
static Row best_row(const DwTraceLine *lines, size_t count, const DwRate *rate, const DwRate *rates, size_t rate_count)
{
    Row best = {.chance = 1};
    double reach = search_sigmas * rate->uncertainty_hz, tried = 0;
    for (size_t i = 0; i < count && i < LINES_MOST; i++)
        for (unsigned h = 1; h <= DW_TRACE_HARMONICS_MOST; h++) {
            double turn = lines[i].frequency_hz / h, off = lines[i].uncertainty_hz / h;
            if (fabs(turn - rate->rate_hz) > reach || is_anothers(turn, off, rate, rates, rate_count))
                continue;
            Row row = row_by(lines, count, i, h);
            tried++;
            if (row.found >= ROW && row.chance < best.chance)
                best = row;
        }
    best.chance *= tried;
    return best;
}

void dw_trace_find_rows(const DwTraceLine *lines, size_t count, const DwRate *rates, size_t rate_count, DwRate *known)
{
    for (size_t r = 0; r < rate_count; r++) {
        known[r] = rates[r];
        bool is_platter = rates[r].part <= DW_PART_RECORD && rates[r].uncertainty_hz > badly_known * rates[r].rate_hz;
        bool turns = rates[r].part == DW_PART_BELT || rates[r].part == DW_PART_IDLER ||
                     rates[r].part == DW_PART_MOTOR || is_platter;
        if (rates[r].what || !turns || rates[r].uncertainty_hz < well_known * rates[r].rate_hz)
            continue;
        Row row = best_row(lines, count, &rates[r], rates, rate_count);
        if (row.found < ROW || row.chance * chance_of_row >= 1)
            continue;
        known[r].rate_hz = row.turn_hz;
        known[r].uncertainty_hz = fmax(row.off_hz, error_least_hz);
        known[r].is_heard = true;
    }
    dw_trace_follow_turns(rates, known, rate_count);
}
