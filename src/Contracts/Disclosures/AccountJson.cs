using System.Globalization;
using System.Text.Json;
using NodaTime;
using NodaTime.Text;

namespace Contracts.Disclosures;

/// <summary>Writes accounts and portfolios in the fixed shape of docs/interface.md: same order, same spelling, always.</summary>
public static class AccountJson
{
    public static void Write(Utf8JsonWriter json, Account account)
    {
        json.WriteStartObject();
        json.WriteString("contract", account.Contract);
        Date(json, "on", account.On);
        json.WriteString("known", InstantPattern.ExtendedIso.Format(account.Known));
        json.WriteString("status", account.Status);
        json.WriteStartObject("instrument");
        json.WriteString("kind", account.Kind);
        json.WriteString("serial", account.Serial);
        json.WriteEndObject();
        Amount(json, "equity", account.Equity);
        Amount(json, "carriedEquity", account.CarriedEquity);
        Amount(json, "remainingToOwn", account.RemainingToOwn);
        Amount(json, "pastDue", account.PastDue);
        Amount(json, "unappliedCredit", account.UnappliedCredit);
        Amount(json, "goodwillCredit", account.GoodwillCredit);
        Amount(json, "merchandiseCredit", account.MerchandiseCredit);
        WriteEarlyPurchase(json, account);
        WritePaid(json, account.Paid);
        WriteCounts(json, account.Installments);
        Amount(json, "remainingBySchedule", account.RemainingBySchedule);
        Amount(json, "totalCost", account.TotalCost);
        Amount(json, "costOfRental", account.CostOfRental);
        WriteOpenItems(json, account);
        WriteNextDue(json, account.NextDue);
        json.WriteNumber("events", account.Events);
        json.WriteNumber("lastSequence", account.LastSequence);
        json.WriteEndObject();
    }

    public static void Write(Utf8JsonWriter json, Portfolio portfolio)
    {
        json.WriteStartObject();
        Date(json, "on", portfolio.On);
        json.WriteString("known", InstantPattern.ExtendedIso.Format(portfolio.Known));
        json.WriteNumber("accounts", portfolio.Accounts);
        json.WriteStartObject("statuses");
        foreach (var (status, count) in portfolio.Statuses) { json.WriteNumber(status, count); }
        json.WriteEndObject();
        WriteSums(json, portfolio);
        json.WriteEndObject();
    }

    private static void WriteSums(Utf8JsonWriter json, Portfolio portfolio)
    {
        var group = "";
        foreach (var (path, sum) in portfolio.Sums)
        {
            var dot = path.IndexOf('.', StringComparison.Ordinal);
            var inside = dot < 0 ? "" : path[..dot];
            if (inside != group && group.Length > 0) { json.WriteEndObject(); }
            if (inside != group && inside.Length > 0) { json.WriteStartObject(inside); }
            group = inside;
            Amount(json, path[(dot + 1)..], sum);
        }

        if (group.Length > 0) { json.WriteEndObject(); }
    }

    private static void WriteEarlyPurchase(Utf8JsonWriter json, Account account)
    {
        json.WriteStartObject("earlyPurchase");
        Amount(json, "price", account.EarlyPurchase.Price);
        json.WriteString("basis", account.EarlyPurchase.Basis);
        Amount(json, "tax", account.EarlyPurchase.Tax);
        Amount(json, "payoff", account.EarlyPurchase.Payoff);
        json.WriteEndObject();
    }

    private static void WritePaid(Utf8JsonWriter json, PaidFigures paid)
    {
        json.WriteStartObject("paid");
        Amount(json, "total", paid.Total);
        Amount(json, "rent", paid.Rent);
        Amount(json, "plan", paid.Plan);
        Amount(json, "tax", paid.Tax);
        Amount(json, "fees", paid.Fees);
        Amount(json, "accessories", paid.Accessories);
        Amount(json, "purchase", paid.Purchase);
        json.WriteEndObject();
    }

    private static void WriteCounts(Utf8JsonWriter json, InstallmentCounts counts)
    {
        json.WriteStartObject("installments");
        json.WriteNumber("total", counts.Total);
        json.WriteNumber("due", counts.Due);
        json.WriteNumber("paid", counts.Paid);
        json.WriteNumber("remaining", counts.Remaining);
        json.WriteEndObject();
    }

    private static void WriteOpenItems(Utf8JsonWriter json, Account account)
    {
        json.WriteStartArray("openItems");
        foreach (var item in account.OpenItems)
        {
            json.WriteStartObject();
            json.WriteString("id", item.Id);
            json.WriteString("kind", item.Kind);
            json.WriteString("part", item.Part);
            Date(json, "dueOn", item.DueOn);
            Amount(json, "charged", item.Charged);
            Amount(json, "open", item.Open);
            json.WriteEndObject();
        }

        json.WriteEndArray();
    }

    private static void WriteNextDue(Utf8JsonWriter json, NextDue? next)
    {
        if (next is null)
        {
            json.WriteNull("nextDue");
            return;
        }

        json.WriteStartObject("nextDue");
        Date(json, "on", next.On);
        Amount(json, "amount", next.Amount);
        json.WriteEndObject();
    }

    private static void Amount(Utf8JsonWriter json, string name, Money amount)
    {
        Span<char> text = stackalloc char[32];
        var size = Math.Abs(amount.Cents);
        var sign = amount.Cents < 0 ? "-" : "";
        text.TryWrite(CultureInfo.InvariantCulture, $"{sign}{size / 100}.{size % 100:00}", out var length);
        json.WriteString(name, text[..length]);
    }

    private static void Date(Utf8JsonWriter json, string name, LocalDate date)
    {
        Span<char> text = stackalloc char[10];
        text.TryWrite(CultureInfo.InvariantCulture, $"{date.Year:0000}-{date.Month:00}-{date.Day:00}", out var length);
        json.WriteString(name, text[..length]);
    }
}
