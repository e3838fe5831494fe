using System.Text.Json;
using Contracts.Agreements;
using NodaTime;
using NodaTime.Text;

namespace Contracts.Disclosures;

/// <summary>Writes accounts and portfolios in the fixed shape of docs/interface.md: same order, same spelling, always.</summary>
public static class AccountJson
{
    public static void Write(Utf8JsonWriter json, Account account)
    {
        json.WriteStartObject();
        json.WriteString(Names.Contract, account.Contract);
        Date(json, Names.On, account.On);
        json.WriteString(Names.Known, InstantPattern.ExtendedIso.Format(account.Known));
        json.WriteString(Names.Status, account.Status);
        json.WriteStartObject(Names.Instrument);
        json.WriteString(Names.Kind, account.Kind);
        json.WriteString(Names.Serial, account.Serial);
        json.WriteEndObject();
        Amount(json, Names.Equity, account.Equity);
        Amount(json, Names.CarriedEquity, account.CarriedEquity);
        Amount(json, Names.RemainingToOwn, account.RemainingToOwn);
        Amount(json, Names.PastDue, account.PastDue);
        Amount(json, Names.UnappliedCredit, account.UnappliedCredit);
        Amount(json, Names.GoodwillCredit, account.GoodwillCredit);
        Amount(json, Names.MerchandiseCredit, account.MerchandiseCredit);
        WriteEarlyPurchase(json, account);
        WritePaid(json, account.Paid);
        WriteCounts(json, account.Installments);
        Amount(json, Names.RemainingBySchedule, account.RemainingBySchedule);
        Amount(json, Names.TotalCost, account.TotalCost);
        Amount(json, Names.CostOfRental, account.CostOfRental);
        WriteOpenItems(json, account);
        WriteNextDue(json, account.NextDue);
        json.WriteNumber(Names.Events, account.Events);
        json.WriteNumber(Names.LastSequence, account.LastSequence);
        if (account.TakenOver is { } mark) { WriteMark(json, mark); }
        json.WriteEndObject();
    }

    public static void Write(Utf8JsonWriter json, Portfolio portfolio)
    {
        json.WriteStartObject();
        Date(json, Names.On, portfolio.On);
        json.WriteString(Names.Known, InstantPattern.ExtendedIso.Format(portfolio.Known));
        json.WriteNumber(Names.Accounts, portfolio.Accounts);
        json.WriteStartObject(Names.Statuses);
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
            Amount(json, JsonEncodedText.Encode(path[(dot + 1)..]), sum);
        }

        if (group.Length > 0) { json.WriteEndObject(); }
    }

    private static void WriteEarlyPurchase(Utf8JsonWriter json, Account account)
    {
        json.WriteStartObject(Names.EarlyPurchase);
        Amount(json, Names.Price, account.EarlyPurchase.Price);
        json.WriteString(Names.Basis, account.EarlyPurchase.Basis);
        Amount(json, Names.Tax, account.EarlyPurchase.Tax);
        Amount(json, Names.Payoff, account.EarlyPurchase.Payoff);
        json.WriteEndObject();
    }

    private static void WritePaid(Utf8JsonWriter json, PaidFigures paid)
    {
        json.WriteStartObject(Names.Paid);
        Amount(json, Names.Total, paid.Total);
        Amount(json, Names.Rent, paid.Rent);
        Amount(json, Names.Plan, paid.Plan);
        Amount(json, Names.Tax, paid.Tax);
        Amount(json, Names.Fees, paid.Fees);
        Amount(json, Names.Accessories, paid.Accessories);
        Amount(json, Names.Purchase, paid.Purchase);
        json.WriteEndObject();
    }

    private static void WriteCounts(Utf8JsonWriter json, InstallmentCounts counts)
    {
        json.WriteStartObject(Names.Installments);
        json.WriteNumber(Names.Total, counts.Total);
        json.WriteNumber(Names.Due, counts.Due);
        json.WriteNumber(Names.Paid, counts.Paid);
        json.WriteNumber(Names.Remaining, counts.Remaining);
        json.WriteEndObject();
    }

    private static void WriteOpenItems(Utf8JsonWriter json, Account account)
    {
        json.WriteStartArray(Names.OpenItems);
        foreach (var item in account.OpenItems)
        {
            json.WriteStartObject();
            json.WriteString(Names.Id, item.Id);
            json.WriteString(Names.Kind, item.Kind);
            json.WriteString(Names.Part, item.Part);
            Date(json, Names.DueOn, item.DueOn);
            Amount(json, Names.Charged, item.Charged);
            Amount(json, Names.Open, item.Open);
            json.WriteEndObject();
        }

        json.WriteEndArray();
    }

    private static void WriteMark(Utf8JsonWriter json, TakenOver mark)
    {
        json.WriteStartObject(Names.TakenOver);
        json.WriteString(Names.Book, mark.Book);
        json.WriteNumber(Names.Line, mark.Line);
        json.WriteEndObject();
    }

    private static void WriteNextDue(Utf8JsonWriter json, NextDue? next)
    {
        if (next is null)
        {
            json.WriteNull(Names.NextDue);
            return;
        }

        json.WriteStartObject(Names.NextDue);
        Date(json, Names.On, next.On);
        Amount(json, Names.Amount, next.Amount);
        json.WriteEndObject();
    }

    private static void Amount(Utf8JsonWriter json, JsonEncodedText name, Money amount)
    {
        Span<byte> text = stackalloc byte[24];
        var at = text.Length;
        var rest = Math.Abs(amount.Cents);
        for (var digit = 0; digit < 3 || rest > 0; digit++)
        {
            if (digit == 2) { text[--at] = (byte)'.'; }
            text[--at] = (byte)('0' + (rest % 10));
            rest /= 10;
        }

        if (amount.Cents < 0) { text[--at] = (byte)'-'; }
        json.WriteString(name, text[at..]);
    }

    private static void Date(Utf8JsonWriter json, JsonEncodedText name, LocalDate date)
    {
        var (year, month, day) = date;
        Span<byte> text =
        [
            Digit(year / 1000), Digit(year / 100), Digit(year / 10), Digit(year), (byte)'-',
            Digit(month / 10), Digit(month), (byte)'-', Digit(day / 10), Digit(day),
        ];
        json.WriteString(name, text);
    }

    private static byte Digit(int number) => (byte)('0' + (number % 10));

    /// <summary>The names of the figures, encoded once.</summary>
    private static class Names
    {
        public static readonly JsonEncodedText Accessories = JsonEncodedText.Encode("accessories");
        public static readonly JsonEncodedText Accounts = JsonEncodedText.Encode("accounts");
        public static readonly JsonEncodedText Amount = JsonEncodedText.Encode("amount");
        public static readonly JsonEncodedText Basis = JsonEncodedText.Encode("basis");
        public static readonly JsonEncodedText Book = JsonEncodedText.Encode("book");
        public static readonly JsonEncodedText CarriedEquity = JsonEncodedText.Encode("carriedEquity");
        public static readonly JsonEncodedText Charged = JsonEncodedText.Encode("charged");
        public static readonly JsonEncodedText Contract = JsonEncodedText.Encode("contract");
        public static readonly JsonEncodedText CostOfRental = JsonEncodedText.Encode("costOfRental");
        public static readonly JsonEncodedText Due = JsonEncodedText.Encode("due");
        public static readonly JsonEncodedText DueOn = JsonEncodedText.Encode("dueOn");
        public static readonly JsonEncodedText EarlyPurchase = JsonEncodedText.Encode("earlyPurchase");
        public static readonly JsonEncodedText Equity = JsonEncodedText.Encode("equity");
        public static readonly JsonEncodedText Events = JsonEncodedText.Encode("events");
        public static readonly JsonEncodedText Fees = JsonEncodedText.Encode("fees");
        public static readonly JsonEncodedText GoodwillCredit = JsonEncodedText.Encode("goodwillCredit");
        public static readonly JsonEncodedText Id = JsonEncodedText.Encode("id");
        public static readonly JsonEncodedText Installments = JsonEncodedText.Encode("installments");
        public static readonly JsonEncodedText Instrument = JsonEncodedText.Encode("instrument");
        public static readonly JsonEncodedText Kind = JsonEncodedText.Encode("kind");
        public static readonly JsonEncodedText Known = JsonEncodedText.Encode("known");
        public static readonly JsonEncodedText LastSequence = JsonEncodedText.Encode("lastSequence");
        public static readonly JsonEncodedText Line = JsonEncodedText.Encode("line");
        public static readonly JsonEncodedText MerchandiseCredit = JsonEncodedText.Encode("merchandiseCredit");
        public static readonly JsonEncodedText NextDue = JsonEncodedText.Encode("nextDue");
        public static readonly JsonEncodedText On = JsonEncodedText.Encode("on");
        public static readonly JsonEncodedText Open = JsonEncodedText.Encode("open");
        public static readonly JsonEncodedText OpenItems = JsonEncodedText.Encode("openItems");
        public static readonly JsonEncodedText Paid = JsonEncodedText.Encode("paid");
        public static readonly JsonEncodedText Part = JsonEncodedText.Encode("part");
        public static readonly JsonEncodedText PastDue = JsonEncodedText.Encode("pastDue");
        public static readonly JsonEncodedText Payoff = JsonEncodedText.Encode("payoff");
        public static readonly JsonEncodedText Plan = JsonEncodedText.Encode("plan");
        public static readonly JsonEncodedText Price = JsonEncodedText.Encode("price");
        public static readonly JsonEncodedText Purchase = JsonEncodedText.Encode("purchase");
        public static readonly JsonEncodedText Remaining = JsonEncodedText.Encode("remaining");
        public static readonly JsonEncodedText RemainingBySchedule = JsonEncodedText.Encode("remainingBySchedule");
        public static readonly JsonEncodedText RemainingToOwn = JsonEncodedText.Encode("remainingToOwn");
        public static readonly JsonEncodedText Rent = JsonEncodedText.Encode("rent");
        public static readonly JsonEncodedText Serial = JsonEncodedText.Encode("serial");
        public static readonly JsonEncodedText Status = JsonEncodedText.Encode("status");
        public static readonly JsonEncodedText Statuses = JsonEncodedText.Encode("statuses");
        public static readonly JsonEncodedText TakenOver = JsonEncodedText.Encode("takenOver");
        public static readonly JsonEncodedText Tax = JsonEncodedText.Encode("tax");
        public static readonly JsonEncodedText Total = JsonEncodedText.Encode("total");
        public static readonly JsonEncodedText TotalCost = JsonEncodedText.Encode("totalCost");
        public static readonly JsonEncodedText UnappliedCredit = JsonEncodedText.Encode("unappliedCredit");
    }
}
