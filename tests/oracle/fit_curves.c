// SPDX-License-Identifier: MIT
// Says what a response is made of, for curves drawn elsewhere.
//
// In: for each case, both (1: one sweep drove both channels), from where to where was swept [Hz] and the number of
// points, then frequency [Hz], left and right over 1 kHz [dB] of each. Out, a line a case: 3180, 318 and 75 µs as found
// and their ± [µs], then resonance [kHz] and Q of left and right, each with its ±; nan where it is not told.
#include "measure/sweep/response_fit.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>

static bool read_case(DwResponseLine lines[2])
{
    int both;
    size_t count;
    double low, high;
    if (scanf("%d %lf %lf %zu", &both, &low, &high, &count) != 4 || count > DW_RESPONSE_POINTS_MOST)
        return false;
    for (size_t c = 0; c < 2; c++) {
        lines[c].count = count;
        lines[c].both = both;
        lines[c].swept_hz[0] = low;
        lines[c].swept_hz[1] = high;
    }
    for (size_t i = 0; i < count; i++) {
        if (scanf("%lf %lf %lf", &lines[0].frequency_hz[i], &lines[0].level_db[i], &lines[1].level_db[i]) != 3)
            return false;
        lines[1].frequency_hz[i] = lines[0].frequency_hz[i];
    }
    return true;
}

static void print_reading(const DwSheet *sheet, const char *key)
{
    const DwReading *reading = dw_sheet_reading(sheet, key);
    printf(" %.9g %.9g", reading ? reading->value : NAN, reading ? reading->uncertainty : NAN);
}

int main(void)
{
    DwResponse *response = calloc(1, sizeof *response);
    DwResponseLine *lines = calloc(2, sizeof *lines);
    if (!response || !lines)
        return 1;
    response->settings.equalised = true;
    while (read_case(lines)) {
        DwSheet *sheet = dw_sheet_new("response", "Response");
        dw_response_say_fit(response, &lines[0], &lines[1], sheet);
        const DwTable *table = dw_sheet_table(sheet, "response.equalisation");
        for (size_t i = 0; i < DW_RESPONSE_TAUS; i++)
            printf("%.9g %.9g ", table ? dw_table_cell(table, i, 1)->number : NAN,
                   table ? dw_table_cell(table, i, 2)->number : NAN);
        print_reading(sheet, "response.resonance_left");
        print_reading(sheet, "response.q_left");
        print_reading(sheet, "response.resonance_right");
        print_reading(sheet, "response.q_right");
        printf("\n");
        dw_sheet_free(sheet);
    }
    free(response);
    free(lines);
    return 0;
}
