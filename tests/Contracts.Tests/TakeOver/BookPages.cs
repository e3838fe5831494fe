using Contracts.Agreements;
using Contracts.TakeOver;
using Contracts.Tests.Support;
using NodaTime;
using Xunit;

namespace Contracts.Tests.TakeOver;

/// <summary>Lines of an invented book for tests, and what is made of them without a store.</summary>
internal static class BookPages
{
    public static readonly BookShape Shape = new("old-sheets", "0123456789abcdef", "office", """[{"discount":"0.25"}]""");
    public static readonly LocalDate AsOf = new(2026, 10, 31);

    private static readonly Dictionary<string, string> Common = new(StringComparer.Ordinal)
    {
        ["contract"] = "B-1", ["household"] = "H-1", ["kind"] = "clarinet", ["serial"] = "S-1", ["condition"] = "used", ["state"] = "OR", ["jurisdiction"] = "wexmoor",
        ["signedOn"] = "2026-05-04", ["startOn"] = "2026-05-05", ["cashPrice"] = "300.00", ["monthlyRent"] = "30.00", ["creditShare"] = "1.00", ["planMonthly"] = "5.00",
        ["planElected"] = "true", ["lateFee"] = "5.00", ["lateFeeGraceDays"] = "7",
    };

    /// <summary>A line of contracts that differs from an ordinary one in some columns; an empty value takes the column away.</summary>
    public static BookRow Contract(long line, IReadOnlyDictionary<string, Money>? figures, params ReadOnlySpan<(string Name, string Value)> other)
    {
        var values = new Dictionary<string, string>(Common, StringComparer.Ordinal);
        foreach (var (name, value) in other)
        {
            if (value.Length > 0) { values[name] = value; }
            else { values.Remove(name); }
        }

        return new BookRow(false, line, values, new Dictionary<string, string>(StringComparer.Ordinal) { ["serial"] = "Serial no.", ["equity"] = "Equity (book)" }, figures);
    }

    public static BookRow Payment(long line, string contract, string on, string amount, string? reference = null)
    {
        var values = new Dictionary<string, string>(StringComparer.Ordinal) { ["contract"] = contract, ["paidOn"] = on, ["amount"] = amount, ["method"] = "cash" };
        if (reference is not null) { values["reference"] = reference; }
        return new BookRow(true, line, values, new Dictionary<string, string>(StringComparer.Ordinal) { ["paidOn"] = "Day" });
    }

    public static BookContract Read(BookRow row)
    {
        var (contract, fault) = BookContract.Read(row, Shape);
        Assert.True(contract is not null, fault?.Refusal.Detail);
        return contract;
    }

    /// <summary>A shop with one tax of 8 percent on rent and plan.</summary>
    public static InMemoryShop Shop()
    {
        var shop = new InMemoryShop();
        Assert.Null(shop.Apply(
            """{"do":"set-tax","key":"t","at":"2026-11-02T14:00:00Z","jurisdiction":"wexmoor","rate":"0.08","from":"2020-01-01","taxes":{"rent":true,"plan":true,"sale":true}}"""));
        return shop;
    }

    /// <summary>Takes contracts into a shop without a store and answers with their accounts on the day of the totals.</summary>
    public static List<ReconciledContract> Accounts(params ReadOnlySpan<BookContract> contracts)
    {
        var shop = Shop();
        var accounts = new List<ReconciledContract>();
        foreach (var contract in contracts)
        {
            Say(shop, contract.Signing);
            var (payments, fault) = DeemedPayments.Of(contract, Shape, shop.History(contract.Signing.Contract), shop.RatesAt(Instant.MaxValue), AsOf);
            Assert.True(payments is not null, fault?.Refusal.Detail);
            if (contract.HasDeemedPayments)
            {
                foreach (var payment in payments) { Say(shop, payment); }
            }

            accounts.Add(new ReconciledContract(contract, shop.Account(contract.Signing.Contract, AsOf)));
        }

        return accounts;
    }

    public static void Say(InMemoryShop shop, Command.OnContract command)
    {
        var line = Commands.CommandWriter.Line(command);
        line["at"] = "2026-11-02T14:00:00Z";
        var refusal = shop.Apply(line.ToJsonString());
        Assert.True(refusal is null, refusal?.Detail);
    }
}
