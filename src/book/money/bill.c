// SPDX-License-Identifier: MIT
#include "book/money/bill.h"

#include "book/shop/settings.h"

#include <math.h>

DwTotals dw_bill_totals(int64_t net, int64_t tax_rate)
{
    int64_t tax = dw_money_share(net, tax_rate);
    return (DwTotals){net, tax, net + tax};
}

DwStatus dw_bill_amount(DwBook *book, DwLineKind kind, int64_t minutes, double quantity, int64_t *price,
                        int64_t *amount, DwMessage *message)
{
    if (kind == DW_LINE_LABOUR && minutes > 0) {
        if (*price == DW_AMOUNT_NONE)
            *price = dw_settings_amount(book, "money.labour_rate");
        if (*price != DW_AMOUNT_NONE) {
            *amount = dw_money_labour(minutes, *price);
            return DW_OK;
        }
    }
    if (*price == DW_AMOUNT_NONE)
        return dw_fail(message, DW_BAD_INPUT, "The line has neither an amount nor a price. Give one of them.");
    *amount = dw_money_times(*price, isnan(quantity) ? 1 : quantity);
    return DW_OK;
}
