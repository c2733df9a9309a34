// SPDX-License-Identifier: MIT
// What a sheet's readings say of findings. A reading with its ± lies beyond a bound with some
// probability; that, and not a bare yes or no, is what counts.
#include "base/memory.h"
#include "base/text.h"
#include "guide/guide_case.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

// Even a certain reading may be of another deck, record or day. Common practice, no source.
static const double misread = 0.03;

static double normal_above(double value, double bound, double sigma)
{
    if (!(sigma > 0))
        return value > bound ? 1 : 0;
    return 0.5 * erfc((bound - value) / sigma / sqrt(2));
}

// How likely the reading that TEXT speaks of is as it says; NAN where SHEET cannot tell.
// TEXT is "KEY above NUMBER UNIT", "KEY below …", "KEY beyond …" or "KEY says WORDS".
static double read_rule(const DwSheet *sheet, const char *text)
{
    size_t length = strcspn(text, " ");
    char *key = dw_text_format("%.*s", (int)length, text);
    const DwReading *reading = dw_sheet_reading(sheet, key);
    free(key);
    const char *relation = text + length + strspn(text + length, " ");
    if (!reading || strncmp(relation, "says ", 5) == 0)
        return !reading || !reading->word ? NAN : strstr(reading->word, relation + 5) != NULL;
    double bound;
    size_t word = strcspn(relation, " ");
    const char *unit = dw_text_number(relation + word + strspn(relation + word, " "), &bound);
    if (!unit || isnan(reading->value) || strcmp(unit + strspn(unit, " "), reading->unit) != 0)
        return NAN;
    double sigma = reading->uncertainty / 1.96;
    double above = normal_above(reading->value, bound, sigma);
    if (strncmp(relation, "above", 5) == 0)
        return above;
    double below = 1 - normal_above(reading->value, strncmp(relation, "below", 5) == 0 ? bound : -bound, sigma);
    return strncmp(relation, "below", 5) == 0 ? below : above + below;
}

static double cell_number(const DwTable *table, size_t row, int column)
{
    return column < 0 ? NAN : dw_table_cell(table, row, (size_t)column)->number;
}

static int column_of(const DwTable *table, const char *key)
{
    for (size_t i = 0; i < table->column_count; i++)
        if (strcmp(table->columns[i].key, key) == 0)
            return (int)i;
    return -1;
}

// The same for "PART above NUMBER": of the flutter lines, how sure it is that one of that part is above it.
static double line_rule(const DwSheet *sheet, const char *text)
{
    const DwTable *table = dw_sheet_table(sheet, "flutter.lines");
    int part = table ? column_of(table, "part") : -1;
    if (part < 0)
        return NAN;
    size_t length = strcspn(text, " ");
    double bound = NAN, sure = 0;
    dw_text_number(text + length + strlen(" above "), &bound);
    for (size_t r = 0; r < table->row_count; r++) {
        const char *word = dw_table_cell(table, r, (size_t)part)->word;
        if (!word || strncmp(word, text, length) != 0)
            continue;
        double confidence = cell_number(table, r, column_of(table, "confidence"));
        if (cell_number(table, r, column_of(table, "amplitude")) > bound)
            sure = fmax(sure, isnan(confidence) ? 1 : confidence);
    }
    return sure;
}

// Takes that sign SIGN is so with probability SURE by what FROM says.
static void take(DwGuideCase *guide_case, size_t sign, double sure, const char *from)
{
    DwGuideEvidence *evidence = &guide_case->evidence[sign];
    free(evidence->from);
    *evidence = (DwGuideEvidence){.answer = sure > 0.5 ? DW_GUIDE_YES : DW_GUIDE_NO,
                                  .if_so = misread + (1 - 2 * misread) * sure,
                                  .if_not = misread + (1 - 2 * misread) * (1 - sure),
                                  .turn = ++guide_case->turns,
                                  .from = dw_memory_text(from)};
}

// Whether a fault that makes SIGN can be on the deck, as it is driven. Of what no such deck has a sheet tells nothing.
static bool can_be_so(const DwGuideCase *guide_case, const DwGuideSign *sign)
{
    bool can = guide_case->drive < 0;
    for (size_t i = 0; i < sign->fault_count && !can; i++)
        can = guide_case->knowledge->faults[sign->faults[i]].on[guide_case->drive];
    return can;
}

size_t dw_guide_case_take_sheet(DwGuideCase *guide_case, const DwSheet *sheet)
{
    size_t count = 0;
    for (size_t i = guide_case->knowledge->symptom_count; i < guide_case->knowledge->sign_count; i++) {
        const DwGuideSign *sign = &guide_case->knowledge->signs[i];
        if (guide_case->evidence[i].turn && strcmp(guide_case->evidence[i].from, "answered") == 0)
            continue;
        if (!can_be_so(guide_case, sign))
            continue;
        for (size_t k = 0; k < sign->reading.count + sign->flutter_line.count; k++) {
            bool line = k >= sign->reading.count;
            const char *text = line ? sign->flutter_line.texts[k - sign->reading.count] : sign->reading.texts[k];
            double sure = line ? line_rule(sheet, text) : read_rule(sheet, text);
            if (isnan(sure))
                continue;
            take(guide_case, i, sure, text);
            count++;
            break;
        }
    }
    return count;
}
