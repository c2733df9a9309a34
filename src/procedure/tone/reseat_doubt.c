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

// What is left over with the angles whose bits are set in FLIPPED turned the other way.
static double left_over(const DwReseat *reseat, unsigned flipped)
{
    DwSeat seats[DW_SHARES_SEATS_MOST];
    bool on_record = reseat->shares[0].on_record;
    for (size_t i = 0; i < reseat->count; i++) {
        seats[i] = reseat->parts[i].seat[0];
        if (flipped >> i & 1)
            seats[i].angle = -seats[i].angle;
    }
    DwShares shares = dw_shares_split(seats, reseat->count, 1, on_record);
    return shares.possible ? shares.residual : NAN;
}

// The value that the sum of DEGREES squared normal ones passes once in a thousand times.
// Reference: E. B. Wilson and M. M. Hilferty, "The distribution of chi-square", PNAS 17 (1931) 684-688 (from memory).
static double rare_square(double degrees)
{
    double spread = 2 / (9 * degrees);
    return degrees * pow(1 - spread + NORMAL_QUANTILE * sqrt(spread), 3);
}

static bool is_half_or_none(double angle_deg)
{
    return fabs(sin(angle_deg * M_PI / 180)) < 0.02;
}

void dw_reseat_doubt_angles(DwReseat *reseat)
{
    const DwShares *s = &reseat->shares[0];
    reseat->angle_fits[0] = NAN;
    if (reseat->reference == DW_RESEAT_NONE || !s->possible || reseat->count < 3)
        return;
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
