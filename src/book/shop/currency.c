// SPDX-License-Identifier: MIT
// Reference: ISO 4217, table A.1, as its codes stand in 2025; metals, units of account and codes for tests are no money
// to bill in and are left out.
#include "book/shop/currency.h"

#include <stddef.h>
#include <string.h>

static const struct {
    int digits;
    const char *codes; // parted by blanks
} rows[] = {
    {0, "BIF CLP DJF GNF ISK JPY KMF KRW PYG RWF UGX UYI VND VUV XAF XOF XPF"},
    {3, "BHD IQD JOD KWD LYD OMR TND"},
    {4, "CLF UYW"},
    {2, "AED AFN ALL AMD ANG AOA ARS AUD AWG AZN BAM BBD BDT BGN BMD BND BOB BOV BRL BSD BTN BWP BYN BZD CAD CDF CHE "
        "CHF CHW CNY COP COU CRC CUC CUP CVE CZK DKK DOP DZD EGP ERN ETB EUR FJD FKP GBP GEL GHS GIP GMD GTQ GYD HKD "
        "HNL HTG HUF IDR ILS INR IRR JMD KES KGS KHR KPW KYD KZT LAK LBP LKR LRD LSL MAD MDL MGA MKD MMK MNT MOP MRU "
        "MUR MVR MWK MXN MXV MYR MZN NAD NGN NIO NOK NPR NZD PAB PEN PGK PHP PKR PLN QAR RON RSD RUB SAR SBD SCR SDG "
        "SEK SGD SHP SLE SOS SRD SSP STN SVC SYP SZL THB TJS TMT TOP TRY TTD TWD TZS UAH USD USN UYU UZS VED VES WST "
        "XCD XCG YER ZAR ZMW ZWG"},
};

bool dw_currency_is_code(const char *text)
{
    return strlen(text) == 3 && strspn(text, "ABCDEFGHIJKLMNOPQRSTUVWXYZ") == 3;
}

int dw_currency_digits(const char *code)
{
    for (size_t i = 0; dw_currency_is_code(code) && i < sizeof rows / sizeof *rows; i++)
        if (strstr(rows[i].codes, code))
            return rows[i].digits;
    return -1;
}
