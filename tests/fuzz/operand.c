// SPDX-License-Identifier: MIT
// Operands, one a line, as words of the command line; what was taken is then asked for.
#include "base/inputs.h"
#include "target.h"

#include <math.h>

static void ask(const DwInputs *inputs, const DwQuantity *quantity)
{
    size_t count = dw_inputs_count(inputs, quantity->key);
    TARGET_HOLDS(quantity->repeats || count <= 1);
    TARGET_HOLDS((count > 0) == dw_inputs_given(inputs, quantity->key));
    TARGET_HOLDS(dw_inputs_word(inputs, quantity->key));
    for (size_t i = 0; i < count; i++) {
        double first, second;
        TARGET_HOLDS(dw_inputs_own(inputs, quantity, i, &first, &second));
        bool is_number = quantity->kind == DW_QUANTITY_NUMBER || quantity->kind == DW_QUANTITY_PAIR;
        TARGET_HOLDS(isfinite(first) == is_number);
    }
}

int LLVMFuzzerTestOneInput(const uint8_t *bytes, size_t count)
{
    char *text = target_text(bytes, count), *rest = text;
    DwInputs *inputs = dw_inputs_new();
    for (const char *line; (line = strsep(&rest, "\n"));) {
        DwMessage message = {""};
        DwStatus status = dw_inputs_set_operand(inputs, line, &message);
        TARGET_HOLDS(status == DW_OK || message.text[0]);
    }
    const DwQuantity *quantity;
    for (size_t i = 0; (quantity = dw_quantity_at(i)); i++)
        ask(inputs, quantity);
    dw_inputs_free(inputs);
    free(text);
    return 0;
}
