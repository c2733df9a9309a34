// SPDX-License-Identifier: MIT
#include "physics/trace.h"

#include <stdbool.h>

// What Bayes' rule says, and how often that is true.
typedef struct {
    double said, is;
} Point;

// Of lines that were told to be a part's, and of those told to be no part's: pooled neighbours, ascending, of drawn
// decks, whole takes and takes of 20 s (docs/methods/trace.md). Not of the decks that the figures there are of.
static const Point of_part[] = {{0, 0}, {0.5, 0.78}, {0.6, 0.87}, {0.8, 0.92}, {0.9, 0.96}, {0.96, 0.985}, {1, 0.998}};
static const Point of_none[] = {{0, 0}, {0.6, 0.1}, {0.7, 0.4}, {0.96, 0.45}, {0.98, 0.8}, {0.99, 0.9}, {1, 0.985}};

static double between(const Point *points, size_t count, double said)
{
    size_t i = 1;
    while (i + 1 < count && said > points[i].said)
        i++;
    double share = (said - points[i - 1].said) / (points[i].said - points[i - 1].said);
    return points[i - 1].is + share * (points[i].is - points[i - 1].is);
}

void dw_trace_believe(DwTraceFinding *findings, size_t count, int whole)
{
    for (size_t i = 0; i < count; i++) {
        DwTraceFinding *finding = &findings[i];
        bool is_none = finding->suspects[0].part == DW_PART_UNKNOWN;
        if (is_none && !whole)
            continue;
        double said = finding->confidence, is = is_none ? between(of_none, sizeof of_none / sizeof *of_none, said)
                                                        : between(of_part, sizeof of_part / sizeof *of_part, said);
        finding->confidence = is;
        for (size_t s = 0; s < finding->suspect_count && said > 0; s++)
            finding->suspects[s].confidence *= is / said;
    }
}
