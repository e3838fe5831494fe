using System.Buffers;
using System.Security.Cryptography;
using System.Text.Encodings.Web;
using System.Text.Json;
using Contracts.Compliance;
using NodaTime;
using NodaTime.Text;

namespace Contracts.Quotes;

/// <summary>
/// The quote for programs, and the form that counts: equal quotes have the same bytes on every machine. One line of UTF-8 with a
/// line end, a fixed order, amounts as strings with two decimals. The household and the shop's cost are left out.
/// </summary>
public static class QuoteJson
{
    /// <summary>
    /// The number of this form, kept with every quote that is recorded: its digest is of these bytes. A field more is another
    /// form with the next number, and this one goes on being written for the quotes that have it.
    /// </summary>
    public const int Form = 1;

    /// <summary>What every quote says at its end.</summary>
    public const string Caution =
        "Rent-to-own disclosure rules vary by state. This quote is not a disclosure and not legal or tax advice; ask local counsel.";

    private static readonly JsonWriterOptions Layout = new() { Encoder = JavaScriptEncoder.UnsafeRelaxedJsonEscaping };

    /// <summary>The quote as a file's bytes.</summary>
    public static byte[] Bytes(Quote quote)
    {
        var buffer = new ArrayBufferWriter<byte>(8192);
        using (var json = new Utf8JsonWriter(buffer, Layout)) { Write(json, quote); }
        buffer.Write("\n"u8);
        return buffer.WrittenSpan.ToArray();
    }

    /// <summary>The SHA-256 of <see cref="Bytes"/> in lower-case hex, as common tools print it for the file.</summary>
    public static string Digest(Quote quote) => Convert.ToHexStringLower(SHA256.HashData(Bytes(quote)));

    /// <summary>Writes the quote as one JSON object: the fixed shape first, then what goes beside it.</summary>
    public static void Write(Utf8JsonWriter json, Quote quote)
    {
        json.WriteStartObject();
        json.WriteStartArray("installments");
        foreach (var installment in quote.Installments) { Write(json, installment); }
        json.WriteEndArray();
        Amount(json, "totalCost", quote.TotalCost);
        Amount(json, "costOfRental", quote.CostOfRental);
        json.WriteStartArray("months");
        foreach (var month in quote.Months) { Write(json, month); }
        json.WriteEndArray();
        json.WriteStartArray("violations");
        foreach (var violation in quote.Law.Violations) { Write(json, violation); }
        json.WriteEndArray();
        json.WriteStartArray("unchecked");
        foreach (var open in quote.Law.Unchecked) { json.WriteStringValue(open); }
        json.WriteEndArray();
        json.WriteString("lawPack", quote.Offer.LawPack);
        WriteOffer(json, quote);
        Sale(json, "accessories", quote.Accessories);
        Sale(json, "outright", quote.Outright);
        Amount(json, "totalOutright", quote.TotalOutright);
        Amount(json, "totalToTerm", quote.TotalToTerm);
        json.WriteString("caution", Caution);
        json.WriteEndObject();
    }

    private static void Write(Utf8JsonWriter json, QuotedInstallment installment)
    {
        json.WriteStartObject();
        Date(json, "dueOn", installment.DueOn);
        Amount(json, "rent", installment.Rent);
        Amount(json, "plan", installment.Plan);
        Amount(json, "tax", installment.Tax);
        json.WriteEndObject();
    }

    private static void Write(Utf8JsonWriter json, QuotedMonth month)
    {
        json.WriteStartObject();
        Date(json, "on", month.On);
        Amount(json, "paidSoFar", month.PaidSoFar);
        Amount(json, "equity", month.Equity);
        Amount(json, "priceToOwn", month.PriceToOwn);
        json.WriteString("basis", month.Basis);
        Amount(json, "totalIfBought", month.TotalIfBought);
        Amount(json, "priceTax", month.PriceTax);
        Amount(json, "costIfReturned", month.CostIfReturned);
        Amount(json, "refundIfReturned", month.RefundIfReturned);
        json.WriteEndObject();
    }

    private static void Write(Utf8JsonWriter json, LawViolation violation)
    {
        json.WriteStartObject();
        json.WriteString("rule", violation.Rule);
        json.WriteString("citation", violation.Citation);
        json.WriteString("detail", violation.Detail);
        json.WriteEndObject();
    }

    private static void WriteOffer(Utf8JsonWriter json, Quote quote)
    {
        json.WriteString("state", quote.Offer.State);
        json.WriteString("jurisdiction", quote.Offer.Jurisdiction);
        Date(json, "startOn", quote.Offer.StartOn);
        if (quote.Offer.StartsAtDelivery) { json.WriteBoolean("startsAtDelivery", true); }
        json.WriteBoolean("planElected", quote.Offer.WithPlan);
        if (quote.Offer.Instrument is not { } unit) { return; }
        json.WriteStartObject("instrument");
        json.WriteString("kind", unit.Kind);
        json.WriteString("serial", unit.Serial);
        if (unit.Condition is { } condition) { json.WriteString("condition", condition); }
        json.WriteEndObject();
    }

    private static void Sale(Utf8JsonWriter json, string name, QuotedSale sale)
    {
        json.WriteStartObject(name);
        Amount(json, "price", sale.Price);
        Amount(json, "tax", sale.Tax);
        Amount(json, "total", sale.Total);
        json.WriteEndObject();
    }

    private static void Amount(Utf8JsonWriter json, string name, Money amount) => json.WriteString(name, amount.ToString());

    private static void Date(Utf8JsonWriter json, string name, LocalDate day) => json.WriteString(name, LocalDatePattern.Iso.Format(day));
}
