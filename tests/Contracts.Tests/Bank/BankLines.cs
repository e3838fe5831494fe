using Contracts.Bank;
using Contracts.History;
using Contracts.Tests.Support;
using NodaTime;
using NodaTime.Text;

namespace Contracts.Tests.Bank;

/// <summary>Lines of a bank's file and a shop's book, in short. Everything in them is invented.</summary>
internal static class BankLines
{
    public static LocalDate Day(string text) => LocalDatePattern.Iso.Parse(text).Value;

    public static BankEntry In(string amount, string text = "", string? endToEnd = null, string on = "2026-10-05", string? reference = "REF-1") =>
        Line(amount, text, endToEnd, on, reference, isCredit: true);

    public static BankEntry Out(string amount, string? code, string text = "", string? endToEnd = null, string on = "2026-10-05", string? reference = "REF-1") =>
        Line(amount, text, endToEnd, on, reference, isCredit: false) with { ReturnCode = code };

    /// <summary>The book of a shop as it stands on a day.</summary>
    public static ShopBook BookOf(InMemoryShop shop, string day)
    {
        var book = new ShopBook();
        foreach (var contract in shop.Contracts)
        {
            var history = shop.History(contract);
            if (AccountFold.At(history, shop.RatesAt(Instant.MaxValue), Day(day)) is { } state) { book.Add(Contracts.Bank.Standing.Of(history, state, Day(day).PlusDays(-100))); }
        }

        return book;
    }

    /// <summary>A book of standings alone.</summary>
    public static ShopBook BookOf(params Standing[] standings)
    {
        var book = new ShopBook();
        foreach (var standing in standings) { book.Add(standing); }
        return book;
    }

    public static Standing Standing(
        string contract, string household = "H-1", string pastDue = "0.00", string? nextDue = "41.04", bool open = true, params KnownPayment[] payments) =>
        new(contract, household, open, Money.Parse(pastDue), nextDue is null ? null : new Disclosures.NextDue(Day("2026-10-05"), Money.Parse(nextDue)), Money.Parse("700.00"), payments, []);

    public static KnownPayment Payment(string contract, string key, string? reference, string amount = "41.04", string on = "2026-10-02") =>
        new(contract, key, reference, Money.Parse(amount), Day(on));

    private static BankEntry Line(string amount, string text, string? endToEnd, string on, string? reference, bool isCredit) => new()
    {
        Id = reference is null ? BankEntry.IdIn("digest", 1) : BankEntry.IdOf("account", reference, Day(on), isCredit ? Money.Parse(amount) : Money.Zero - Money.Parse(amount)), Reference = reference, BookedOn = Day(on),
        Amount = Money.Parse(amount), IsCredit = isCredit, Text = text, EndToEnd = endToEnd, Place = "line 1", IsRecognisable = reference is not null,
    };
}
