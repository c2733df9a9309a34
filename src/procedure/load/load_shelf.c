// SPDX-License-Identifier: MIT
#include "procedure/load/load_shelf.h"

#include <math.h>

// What a lead is chosen by: the maker's range, or the capacitance of least departure.
typedef struct {
    double low_pf, high_pf; // NAN where the maker states none
    double least_pf;
    double top_hz;
} Wish;

typedef struct {
    double lead_pf, total_pf, add_pf, departure_db;
    bool serves; // with what is added
} Choice;

static Wish read_wish(const DwInputs *inputs, const DwLoadNetwork *network, const DwLoadingTip *tip)
{
    Wish wish = {dw_inputs_in(inputs, "cartridge.load_low", "pF"), dw_inputs_in(inputs, "cartridge.load_high", "pF"), 0,
                 dw_inputs_in(inputs, "load.top", "Hz")};
    double reference = 1 / (pow(2 * M_PI * wish.top_hz, 2) * network->seen.inductance_h);
    wish.least_pf =
        dw_loading_least_departure_f(&network->seen, tip, wish.top_hz, reference / 30, reference * 30) * 1e12;
    return wish;
}

static bool has_range(const Wish *wish)
{
    return isfinite(wish->low_pf) || isfinite(wish->high_pf);
}

// How the cartridge fares with a lead of LEAD_PF and the capacitor that it wants at the input.
static Choice choose(const DwLoadNetwork *network, double fitted_pf, const DwLoadingTip *tip, const Wish *wish,
                     double lead_pf)
{
    Choice choice = {.lead_pf = lead_pf, .total_pf = network->total_pf - fitted_pf + lead_pf};
    double least = has_range(wish) ? wish->low_pf : wish->least_pf;
    choice.add_pf = isfinite(least) ? fmax(0, least - choice.total_pf) : 0;
    DwLoading loading = network->seen;
    loading.load_capacitance_f = (choice.total_pf + choice.add_pf) * 1e-12;
    choice.departure_db = dw_loading_departure_db(&loading, tip, wish->top_hz);
    choice.serves = !(choice.total_pf > wish->high_pf);
    return choice;
}

static void add_row(DwTable *table, const Choice *choice, const Wish *wish)
{
    size_t row = dw_table_add_row(table);
    dw_table_set_number(table, row, 0, choice->lead_pf);
    dw_table_set_number(table, row, 1, choice->total_pf);
    dw_table_set_number(table, row, 2, choice->add_pf);
    dw_table_set_number(table, row, 3, choice->departure_db);
    dw_table_set_word(table, row, 4, !has_range(wish) ? "–" : choice->serves ? "yes" : "no, too much");
}

static void remark_best(DwSheet *sheet, const Choice *best, const Wish *wish)
{
    if (!best->serves)
        dw_sheet_remark(
            sheet, "No lead on the shelf is low enough: the lowest makes %.0f pF in all, the maker allows %.0f pF.",
            best->total_pf, wish->high_pf);
    else if (best->add_pf >= 1)
        dw_sheet_remark(sheet,
                        "Of the leads at hand take the one of %.0f pF and put %.0f pF across the input: the departure "
                        "left is %.2f dB.",
                        best->lead_pf, best->add_pf, best->departure_db);
    else
        dw_sheet_remark(sheet, "Of the leads at hand take the one of %.0f pF: the departure left is %.2f dB.",
                        best->lead_pf, best->departure_db);
}

// Whether A is to be taken before B: what serves first, then the smaller departure, then the smaller capacitor.
static bool is_better(const Choice *a, const Choice *b)
{
    const double same_db = 0.02;
    if (a->serves != b->serves)
        return a->serves;
    if (!a->serves)
        return a->total_pf < b->total_pf;
    if (fabs(a->departure_db - b->departure_db) > same_db)
        return a->departure_db < b->departure_db;
    return a->add_pf < b->add_pf;
}

void dw_load_shelf_add(DwSheet *sheet, const DwInputs *inputs, const DwLoadNetwork *network, const DwLoadingTip *tip)
{
    static const char *const columns[] = {"lead|Lead|pF|0",
                                          "total|In all|pF|0",
                                          "add|Add at the input|pF|0",
                                          "departure|Departure then|dB|2",
                                          "range|In the maker's range||0",
                                          NULL};
    size_t count = dw_inputs_count(inputs, "load.lead");
    if (count == 0)
        return;
    Wish wish = read_wish(inputs, network, tip);
    double unused, fitted = dw_load_network_lead_pf(inputs, &unused);
    DwTable *table = dw_sheet_add_table(sheet, "load.shelf", "The leads at hand", columns);
    Choice best;
    for (size_t i = 0; i < count; i++) {
        Choice choice = choose(network, fitted, tip, &wish, dw_inputs_in_at(inputs, "load.lead", i, "pF"));
        add_row(table, &choice, &wish);
        if (i == 0 || is_better(&choice, &best))
            best = choice;
    }
    remark_best(sheet, &best, &wish);
}
