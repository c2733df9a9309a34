// SPDX-License-Identifier: MIT
// Numbers and quantities as typed: the first byte chooses the quantity.
#include "base/quantity.h"
#include "base/text.h"
#include "target.h"

#include <math.h>

static const DwQuantity *quantity_for(uint8_t choice)
{
    size_t rows = 0;
    while (dw_quantity_at(rows))
        rows++;
    return dw_quantity_at(choice % rows);
}

int LLVMFuzzerTestOneInput(const uint8_t *bytes, size_t count)
{
    if (count == 0)
        return 0;
    char *text = target_text(bytes + 1, count - 1);
    double value = NAN, second = NAN;
    const char *after = dw_text_number(text, &value);
    TARGET_HOLDS(!after || (isfinite(value) && after > text && after <= text + strlen(text)));
    const DwQuantity *quantity = quantity_for(bytes[0]);
    if (quantity->kind == DW_QUANTITY_NUMBER || quantity->kind == DW_QUANTITY_PAIR) {
        DwMessage message = {""};
        value = NAN;
        DwStatus status = dw_quantity_read(quantity, text, &value, &second, &message);
        TARGET_HOLDS(status == DW_OK || (isnan(value) && message.text[0]));
        TARGET_HOLDS(status != DW_OK || isfinite(value));
        TARGET_HOLDS(status != DW_OK || quantity->kind != DW_QUANTITY_PAIR || isfinite(second));
        TARGET_HOLDS(status != DW_OK || !dw_range_is_set(quantity->possible) ||
                     (value >= quantity->possible.low && value <= quantity->possible.high));
    }
    free(text);
    return 0;
}
