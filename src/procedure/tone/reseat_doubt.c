// SPDX-License-Identifier: MIT
// Whether the recordings of a reseat fit together. Three or more say more than the two shares need: an angle of the
// wrong sign or a mark's wrong time then leaves something over.
#include "procedure/tone/reseat_sheet.h"

#include <math.h>

static const double CLEARLY = 3;             // times less that another sign must leave
static const double NORMAL_QUANTILE = 3.090; // of one in a thousand
enum { FLIPPED_MOST = 8 };                   // recordings of which every choice of signs is tried

// What may be left over in a recording by what is known to be uncertain, % peak, rms.
static double explained(const DwReseat *reseat)
{
    const DwShares *s = &reseat->shares[0];
    double squares = 0;
    for (size_t i = 0; i < reseat->count; i++) {
        const DwSeat *seat = &reseat->parts[i].seat[0];
        double of_deck = s->on_record ? hypot(seat->turned_off, seat->angle_off) : seat->turned_off;
        double of_record = s->on_record ? seat->turned_off : hypot(seat->turned_off, seat->angle_off);
        double off = hypot(seat->vector_off, hypot(of_deck * s->deck_amplitude, of_record * s->record_amplitude));
        squares += off * off / (double)reseat->count;
    }
    return sqrt(squares);
}

static bool is_half_or_none(double angle_deg)
{
    return fabs(sin(angle_deg * M_PI / 180)) < 0.02;
}

// The split with the angles whose bits are set in FLIPPED turned the other way.
static DwShares turned_back(const DwReseat *reseat, unsigned flipped)
{
    DwSeat seats[DW_SHARES_SEATS_MOST];
    for (size_t i = 0; i < reseat->count; i++) {
        seats[i] = reseat->parts[i].seat[0];
        if (flipped >> i & 1)
            seats[i].angle = -seats[i].angle;
    }
    return dw_shares_split(seats, reseat->count, 1, reseat->shares[0].on_record);
}

// What is left over with the angles whose bits are set in FLIPPED turned the other way.
static double left_over(const DwReseat *reseat, unsigned flipped)
{
    DwShares shares = turned_back(reseat, flipped);
    return shares.possible ? shares.residual : NAN;
}

// The value that the sum of DEGREES squared normal ones passes once in a thousand times.
// Reference: E. B. Wilson and M. M. Hilferty, "The distribution of chi-square", PNAS 17 (1931) 684-688 (from memory).
static double rare_square(double degrees)
{
    double spread = 2 / (9 * degrees);
    return degrees * pow(1 - spread + NORMAL_QUANTILE * sqrt(spread), 3);
}

static double apart(DwVector a, DwVector b)
{
    return hypot(a.real - b.real, a.imaginary - b.imaginary);
}

// Two recordings fit whichever way the record was turned, except by half a turn: what they say then hangs on the
// sign alone.
static void doubt_the_way(DwReseat *reseat)
{
    const DwShares *s = &reseat->shares[0];
    if (is_half_or_none(reseat->parts[1].angle_deg - reseat->parts[0].angle_deg))
        return;
    DwShares other = turned_back(reseat, 3);
    if (apart(other.record[0], s->record[0]) > s->record_off || apart(other.deck, s->deck) > s->deck_off)
        reseat->other_way = other;
}

void dw_reseat_doubt_angles(DwReseat *reseat)
{
    const DwShares *s = &reseat->shares[0];
    reseat->angle_fits[0] = NAN;
    if (reseat->reference == DW_RESEAT_NONE || !s->possible)
        return;
    if (reseat->count < 3) {
        doubt_the_way(reseat);
        return;
    }
    double n = (double)reseat->count, squares = n * pow(s->residual / explained(reseat), 2);
    reseat->misfit = squares > rare_square(2 * (n - 2)); // two parts a recording, less those of the two shares
    if (!reseat->misfit || reseat->count > FLIPPED_MOST)
        return;
    double best = s->residual / CLEARLY;
    unsigned best_flipped = 0;
    for (unsigned flipped = 1; flipped < 1u << reseat->count; flipped++) {
        bool idle = false; // half a turn is the same either way
        for (size_t i = 0; i < reseat->count; i++)
            idle = idle || ((flipped >> i & 1) && is_half_or_none(reseat->parts[i].angle_deg));
        double left = idle ? NAN : left_over(reseat, flipped);
        if (left < best) {
            best = left;
            best_flipped = flipped;
        }
    }
    for (size_t i = 0; best_flipped && i < reseat->count; i++)
        reseat->angle_fits[i] = (best_flipped >> i & 1 ? -1 : 1) * reseat->parts[i].angle_deg;
}
