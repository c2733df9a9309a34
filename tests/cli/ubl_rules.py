# SPDX-License-Identifier: MIT
"""Rules for an electronic invoice. Source (published): the standards, written out apart from the program: what stands where in OASIS UBL 2.1
(2013) as far as the program writes it, and the rules of EN 16931-1:2017, 6.4, by their names. The schema and the standard's
own rules are in no package of Debian, so both are written out here, from memory of the published texts. The order of the
elements was held once against the JSON schema of invoices in npm's @e-invoice-eu/core 2.3.4: none of 27 differs."""
import decimal
import re
import xml.etree.ElementTree as tree

D = decimal.Decimal
CAC = "{urn:oasis:names:specification:ubl:schema:xsd:CommonAggregateComponents-2}"
CBC = "{urn:oasis:names:specification:ubl:schema:xsd:CommonBasicComponents-2}"
ROOT = "{urn:oasis:names:specification:ubl:schema:xsd:%s-2}%s"
# The order of children; ? may be missing, * may repeat, + stands at least once.
PARTY = ["PartyIdentification*", "PostalAddress", "PartyTaxScheme*", "PartyLegalEntity", "Contact?"]
HEAD_END = ["BillingReference*", "AccountingSupplierParty", "AccountingCustomerParty", "Delivery?", "PaymentMeans*",
            "PaymentTerms?", "TaxTotal", "LegalMonetaryTotal"]
ORDER = {
    "Invoice": ["CustomizationID", "ID", "IssueDate", "DueDate?", "InvoiceTypeCode", "Note*", "DocumentCurrencyCode", *HEAD_END,
                "InvoiceLine+"],
    "CreditNote": ["CustomizationID", "ID", "IssueDate", "CreditNoteTypeCode", "Note*", "DocumentCurrencyCode", *HEAD_END,
                   "CreditNoteLine+"],
    "BillingReference": ["InvoiceDocumentReference"], "InvoiceDocumentReference": ["ID", "IssueDate?"],
    "AccountingSupplierParty": ["Party"], "AccountingCustomerParty": ["Party"], "Party": PARTY,
    "PartyIdentification": ["ID"], "PostalAddress": ["StreetName?", "AdditionalStreetName?", "AddressLine?", "Country"],
    "AddressLine": ["Line"], "Country": ["IdentificationCode"], "PartyTaxScheme": ["CompanyID", "TaxScheme"],
    "TaxScheme": ["ID"], "PartyLegalEntity": ["RegistrationName"], "Contact": ["Name?", "Telephone?", "ElectronicMail?"],
    "Delivery": ["ActualDeliveryDate?"], "PaymentMeans": ["PaymentMeansCode", "PayeeFinancialAccount?"],
    "PayeeFinancialAccount": ["ID", "Name?"], "PaymentTerms": ["Note+"], "TaxTotal": ["TaxAmount", "TaxSubtotal+"],
    "TaxSubtotal": ["TaxableAmount", "TaxAmount", "TaxCategory"],
    "TaxCategory": ["ID", "Percent", "TaxExemptionReason?", "TaxScheme"], "ClassifiedTaxCategory": ["ID", "Percent", "TaxScheme"],
    "LegalMonetaryTotal": ["LineExtensionAmount", "TaxExclusiveAmount", "TaxInclusiveAmount", "PrepaidAmount?", "PayableAmount"],
    "InvoiceLine": ["ID", "InvoicedQuantity", "LineExtensionAmount", "Item", "Price"],
    "CreditNoteLine": ["ID", "CreditedQuantity", "LineExtensionAmount", "Item", "Price"],
    "Item": ["Name", "ClassifiedTaxCategory"], "Price": ["PriceAmount", "BaseQuantity?"],
}


def name_of(element):
    return element.tag.rpartition("}")[2]


def wrong_order(element):
    """What is wrong with the children of ELEMENT and of those."""
    name = name_of(element)
    if name not in ORDER:
        return [] if len(element) == 0 and (element.text or "").strip() else [f"{name} is empty or not known"]
    pattern = "".join(f"(?:{re.sub('[?*+]$', '', part)} ){part[-1] if part[-1] in '?*+' else ''}" for part in ORDER[name])
    found = "".join(name_of(child) + " " for child in element)
    wrong = [] if re.fullmatch(pattern, found) else [f"{name}: {found}"]
    wrong += [f"{name_of(child)} is in the wrong vocabulary" for child in element
              if (child.tag.startswith(CAC)) != (name_of(child) in ORDER)]
    return wrong + [line for child in element for line in wrong_order(child)]


def money(element, path):
    found = element.find(path)
    return D(found.text) if found is not None else D(0)


def cents(amount):
    return amount.quantize(D("0.01"), decimal.ROUND_HALF_UP)


def text(element, path):
    return element.findtext(path) or ""


def wrong_totals(root, lines):
    total = root.find(CAC + "LegalMonetaryTotal")
    net, gross = money(total, CBC + "TaxExclusiveAmount"), money(total, CBC + "TaxInclusiveAmount")
    tax, shares = money(root, f"{CAC}TaxTotal/{CBC}TaxAmount"), root.findall(f"{CAC}TaxTotal/{CAC}TaxSubtotal")
    sum_lines = sum(money(line, CBC + "LineExtensionAmount") for line in lines)
    rules = {
        "BR-CO-10": money(total, CBC + "LineExtensionAmount") == sum_lines,
        "BR-CO-13": net == sum_lines,
        "BR-CO-14": tax == sum(money(share, CBC + "TaxAmount") for share in shares),
        "BR-CO-15": gross == net + tax,
        "BR-CO-16": money(total, CBC + "PayableAmount") == gross - money(total, CBC + "PrepaidAmount"),
        "BR-CO-18": len(shares) > 0,
    }
    return [rule for rule, holds in rules.items() if not holds]


def wrong_share(share, lines):
    category = share.find(CAC + "TaxCategory")
    code, rate = text(category, CBC + "ID"), D(text(category, CBC + "Percent") or 0)
    of_lines = [line for line in lines
                for tax in line.findall(f"{CAC}Item/{CAC}ClassifiedTaxCategory")
                if (text(tax, CBC + "ID"), D(text(tax, CBC + "Percent") or 0)) == (code, rate)]
    amount, tax = money(share, CBC + "TaxableAmount"), money(share, CBC + "TaxAmount")
    reason = text(category, CBC + "TaxExemptionReason")
    rules = {
        "BR-CO-17": tax == cents(amount * rate / 100),
        f"BR-{code}-08": amount == sum(money(line, CBC + "LineExtensionAmount") for line in of_lines),
        f"BR-{code}-05": rate > 0 if code == "S" else rate == 0,
        f"BR-{code}-09": code == "S" or tax == 0,
        f"BR-{code}-10": bool(reason) == (code == "E"),
        f"BR-{code}-01": code in ("S", "Z", "E") and len(of_lines) > 0,
        "BR-48": text(category, f"{CAC}TaxScheme/{CBC}ID") == "VAT",
    }
    return [rule for rule, holds in rules.items() if not holds]


def wrong_line(line):
    quantity = [child for child in line if name_of(child).endswith("edQuantity")][0]
    base, price = money(line, f"{CAC}Price/{CBC}BaseQuantity") or D(1), money(line, f"{CAC}Price/{CBC}PriceAmount")
    rules = {
        "BR-23": quantity.get("unitCode") in ("C62", "MIN"),
        "BR-27": price >= 0,
        # Source (published): the note on BT-131: net price by quantity, rounded to two decimals.
        "BT-131": money(line, CBC + "LineExtensionAmount") == cents(D(quantity.text) * price / base),
        "BR-25": text(line, f"{CAC}Item/{CBC}Name") != "",
    }
    return [rule for rule, holds in rules.items() if not holds]


def wrong_parties(root):
    seller, buyer = (root.find(f"{CAC}Accounting{who}Party/{CAC}Party") for who in ("Supplier", "Customer"))
    numbers = seller.findall(CAC + "PartyTaxScheme")
    vat = [text(n, CBC + "CompanyID") for n in numbers if text(n, f"{CAC}TaxScheme/{CBC}ID") == "VAT"]
    country = f"{CAC}PostalAddress/{CAC}Country/{CBC}IdentificationCode"
    rules = {
        "BR-06": text(seller, f"{CAC}PartyLegalEntity/{CBC}RegistrationName") != "",
        "BR-07": text(buyer, f"{CAC}PartyLegalEntity/{CBC}RegistrationName") != "",
        "BR-09": re.fullmatch("[A-Z]{2}", text(seller, country)) is not None,
        "BR-11": re.fullmatch("[A-Z]{2}", text(buyer, country)) is not None,
        "BR-S-02": len(numbers) > 0,  # BR-Z-02 and BR-E-02 ask for the same
        "BR-CO-09": all(re.match("[A-Z]{2}", number) for number in vat),
        "BR-CO-26": vat or text(seller, f"{CAC}PartyIdentification/{CBC}ID") != "",
    }
    return [rule for rule, holds in rules.items() if not holds]


def wrong(xml):
    """All that is wrong with the invoice or credit note XML: names of rules, places in the structure."""
    root = tree.fromstring(xml)
    name = name_of(root)
    found = wrong_order(root) if root.tag == ROOT % (name, name) else [f"the root is {root.tag}"]
    if found:
        return found
    lines = root.findall(f"{CAC}{name}Line")
    amounts = [child for child in root.iter() if child.get("currencyID")]
    currency = text(root, CBC + "DocumentCurrencyCode")
    due = money(root, f"{CAC}LegalMonetaryTotal/{CBC}PayableAmount")
    terms = root.find(CAC + "PaymentTerms") is not None or text(root, CBC + "DueDate")
    kind = text(root, CBC + name + "TypeCode")
    rules = {
        "BR-01": text(root, CBC + "CustomizationID") == "urn:cen.eu:en16931:2017",
        "BR-03": re.fullmatch(r"\d{4}-\d\d-\d\d", text(root, CBC + "IssueDate")) is not None,
        "BR-04": kind in {"Invoice": ("380", "384"), "CreditNote": ("381",)}[name],
        "BR-05": re.fullmatch("[A-Z]{3}", currency) and {amount.get("currencyID") for amount in amounts} == {currency},
        "BR-16": len(lines) > 0,
        "BR-21": len({text(line, CBC + "ID") for line in lines}) == len(lines),
        "BR-55": kind == "380" or text(root, f"{CAC}BillingReference/{CAC}InvoiceDocumentReference/{CBC}ID") != "",
        "BR-CO-25": due <= 0 or bool(terms),
        "BR-DEC": all(re.fullmatch(r"-?\d+(\.\d{1,2})?", amount.text) for amount in amounts),
        # Every line's category stands among the shares.
        "BR-CO-04": all(line.find(f"{CAC}Item/{CAC}ClassifiedTaxCategory/{CBC}ID") is not None for line in lines),
    }
    found = [rule for rule, holds in rules.items() if not holds]
    found += wrong_parties(root) + wrong_totals(root, lines)
    for share in root.findall(f"{CAC}TaxTotal/{CAC}TaxSubtotal"):
        found += wrong_share(share, lines)
    covered = sum(money(share, CBC + "TaxableAmount") for share in root.findall(f"{CAC}TaxTotal/{CAC}TaxSubtotal"))
    if covered != sum(money(line, CBC + "LineExtensionAmount") for line in lines):
        found.append("a line has no share")
    return found + [rule for line in lines for rule in wrong_line(line)]
