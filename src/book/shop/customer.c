// SPDX-License-Identifier: MIT
#include "book/shop/customer.h"

static const DwField fields[] = {
    {"name", "Name", DW_FIELD_TEXT, offsetof(DwCustomer, name), .required = true, .personal = true},
    {"phone", "Telephone", DW_FIELD_TEXT, offsetof(DwCustomer, phone), .personal = true},
    {"email", "Email", DW_FIELD_TEXT, offsetof(DwCustomer, email), .personal = true},
    {"address", "Address", DW_FIELD_TEXT, offsetof(DwCustomer, address), .lines = true, .personal = true,
     .help = "Only where it is needed: delivery, a visit, an invoice by post."},
    {"country", "Country", DW_FIELD_TEXT, offsetof(DwCustomer, country),
     .help = "Its code of ISO 3166-1, such as DE, where it is not the shop's own."},
    {"route", "Preferred contact", DW_FIELD_CHOICE, offsetof(DwCustomer, route), .choices = DW_ROUTE_WORDS},
    {"language", "Language", DW_FIELD_CHOICE, offsetof(DwCustomer, language), .choices = DW_LANGUAGE_WORDS,
     .help = "In which their papers are printed."},
    {"may_collect", "May also collect", DW_FIELD_TEXT, offsetof(DwCustomer, may_collect), .personal = true},
    {"keep_photos", "May keep photographs", DW_FIELD_YES, offsetof(DwCustomer, keep_photos),
     .help = "Consent to keep the job's photographs after the warranty has ended."},
    {"publish_photos", "May publish photographs", DW_FIELD_YES, offsetof(DwCustomer, publish_photos),
     .help = "A separate consent from keeping them."},
    {"marketing", "May be written to", DW_FIELD_YES, offsetof(DwCustomer, marketing),
     .help = "Consent to be written to about anything but a job in hand."},
    {"note", "Note", DW_FIELD_TEXT, offsetof(DwCustomer, note), .lines = true, .personal = true},
    {"erased_on", "Erased on", DW_FIELD_DATE, offsetof(DwCustomer, erased_on), .kept = true},
};

const DwEntity dw_customer_entity = {
    "customer",    "customer", sizeof(DwCustomer), fields, sizeof fields / sizeof *fields, .of_customer = "id = ?1",
    .merges = true};

const char *dw_customer_language_tag(DwLanguage language)
{
    static const char *const tags[] = {[DW_LANGUAGE_OF_SHOP] = "",
                                       [DW_LANGUAGE_ENGLISH] = "en",
                                       [DW_LANGUAGE_GERMAN] = "de",
                                       [DW_LANGUAGE_FRENCH] = "fr",
                                       [DW_LANGUAGE_SPANISH] = "es"};
    return tags[language];
}
