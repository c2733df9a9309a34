// SPDX-License-Identifier: MIT
#include "physics/alignment.h"

#include <assert.h>
#include <math.h>

static DwNulls nulls_of(double sum, double product)
{
    double spread = sqrt(sum * sum / 4 - product);
    return (DwNulls){sum / 2 - spread, sum / 2 + spread};
}

static DwNulls loefgren_a(double inner, double outer)
{
    double both = 2 * inner * outer;
    double more = 1 + M_SQRT1_2, less = 1 - M_SQRT1_2;
    return (DwNulls){both / (more * outer + less * inner), both / (less * outer + more * inner)};
}

static DwNulls loefgren_b(double inner, double outer)
{
    DwNulls a = loefgren_a(inner, outer);
    double sum = a.inner_mm + a.outer_mm;
    double product = 3 * inner * outer * (sum * (inner + outer) / 2 - inner * outer) /
                     (inner * inner + inner * outer + outer * outer);
    return nulls_of(sum, product);
}

static DwNulls stevenson_a(double inner, double outer)
{
    return (DwNulls){inner, inner * outer / (inner + (3 - 2 * M_SQRT2) * (outer - inner))};
}

static DwNulls unweighted(double inner, double outer)
{
    double product = inner * outer;
    return nulls_of(sqrt(product) + (inner + outer) / 2, product);
}

DwNulls dw_alignment_nulls(DwAlignment alignment, DwGroove groove)
{
    assert(groove.inner_mm > 0 && groove.outer_mm > groove.inner_mm);
    switch (alignment) {
    case DW_ALIGNMENT_LOEFGREN_A:
        return loefgren_a(groove.inner_mm, groove.outer_mm);
    case DW_ALIGNMENT_LOEFGREN_B:
        return loefgren_b(groove.inner_mm, groove.outer_mm);
    case DW_ALIGNMENT_STEVENSON_A:
        return stevenson_a(groove.inner_mm, groove.outer_mm);
    case DW_ALIGNMENT_UNWEIGHTED:
        return unweighted(groove.inner_mm, groove.outer_mm);
    }
    assert(!"an alignment");
    return (DwNulls){NAN, NAN};
}

double dw_alignment_underhung_null(DwAlignment alignment, DwGroove groove)
{
    double inner = groove.inner_mm, outer = groove.outer_mm;
    assert(inner > 0 && outer > inner);
    switch (alignment) {
    case DW_ALIGNMENT_LOEFGREN_A:
        return sqrt(2 / (1 / (inner * inner) + 1 / (outer * outer)));
    case DW_ALIGNMENT_LOEFGREN_B:
        return sqrt((1 / inner - 1 / outer) / ((1 / pow(inner, 3) - 1 / pow(outer, 3)) / 3));
    case DW_ALIGNMENT_STEVENSON_A:
        return inner;
    case DW_ALIGNMENT_UNWEIGHTED:
        return sqrt(inner * outer);
    }
    assert(!"an alignment");
    return NAN;
}

DwArm dw_alignment_underhung_at_distance(double null_mm, double pivot_to_spindle_mm)
{
    return (DwArm){pivot_to_spindle_mm, sqrt(pivot_to_spindle_mm * pivot_to_spindle_mm - null_mm * null_mm), 0};
}

DwArm dw_alignment_underhung_at_length(double null_mm, double effective_length_mm)
{
    return (DwArm){hypot(effective_length_mm, null_mm), effective_length_mm, 0};
}
