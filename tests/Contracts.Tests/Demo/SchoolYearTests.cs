using System.Text.Json.Nodes;
using Contracts.Tests.House;
using Contracts.Tests.Support;
using NodaTime;
using NodaTime.Text;
using Xunit;

namespace Contracts.Tests.Demo;

/// <summary>The invented school year that the demo tells and the README loads.</summary>
public sealed class SchoolYearTests
{
    private const string Family = "C-1042";

    private static readonly string[] Lines =
        File.ReadAllLines(Path.Combine(Repository.Root, "fixtures", "demo", "school-year.jsonl"));

    private static readonly Lazy<InMemoryShop> Year = new(() =>
    {
        var shop = new InMemoryShop();
        foreach (var line in Lines) { Assert.Null(shop.Apply(line)); }
        return shop;
    });

    private static readonly JsonObject[] Commands = [.. Lines.Select(line => (JsonObject)JsonNode.Parse(line)!)];

    [Fact]
    public void The_invented_school_year_is_accepted_line_by_line()
    {
        var shop = new InMemoryShop();
        for (var index = 0; index < Lines.Length; index++)
        {
            var refusal = shop.Apply(Lines[index]);
            Assert.True(refusal is null, $"line {index + 1}: {refusal?.Slug} {refusal?.Detail}\n{Lines[index]}");
        }

        Assert.Equal(Lines.Length, shop.Accepted.Count);
        Assert.InRange(shop.Contracts.Count(), 40, 50);
    }

    [Fact]
    public void The_simulated_clock_never_goes_back()
    {
        var instants = Commands.Select(command => InstantPattern.ExtendedIso.Parse((string)command["at"]!).Value).ToArray();
        Assert.Equal(instants.Order(), instants);
    }

    [Fact]
    public void Every_kind_of_command_happens()
    {
        string[] all =
        [
            "approve", "bill", "buy", "cancel-plan", "close", "credit", "decline", "describe-household", "elect-plan", "erase-household", "exchange", "hold", "issue", "move", "pay",
            "propose", "receive-unit", "recover",
            "refund", "reinstate", "release", "report-loss", "return", "reverse-payment", "set-tax", "sign", "step-up", "swap",
            "waive", "write-off",
        ];
        Assert.Equal(all, Commands.Select(command => (string)command["do"]!).Distinct().Order(StringComparer.Ordinal));
    }

    [Fact]
    public void No_unit_is_handed_out_twice()
    {
        var units = Commands.Select(command => (string?)command["instrument"]?["serial"]
            ?? ((string)command["do"]! is "swap" or "reinstate" ? (string?)command["serial"] : null)).OfType<string>().ToArray();
        Assert.Equal(units.Distinct(), units);
    }

    [Theory]
    [InlineData("C-1010", "2027-04-29", "N.Y. Pers. Prop. Law § 504")]
    [InlineData("C-1011", "2027-03-28", "Haw. Rev. Stat. § 481M-6")]
    public void The_ceilings_of_two_states_bind(string contract, string day, string basis) =>
        Assert.Equal(basis, Year.Value.Account(contract, Date(day))!.EarlyPurchase.Basis);

    /// <summary>Worked out by hand: trumpet 31.50, plan 6.50, tax 2.52 + 0.52; alto saxophone 42.00, 8.00, 3.36 + 0.64.</summary>
    [Theory]
    [InlineData("2026-09-05", "31.50", "0.00", "active")]
    [InlineData("2026-10-19", "63.00", "0.00", "active")]
    [InlineData("2026-12-05", "126.00", "0.00", "active")]
    [InlineData("2027-01-14", "157.50", "0.00", "active")]
    [InlineData("2027-03-05", "241.50", "0.00", "active")]
    [InlineData("2027-03-08", "199.50", "54.00", "active")]
    [InlineData("2027-03-12", "241.50", "0.00", "active")]
    [InlineData("2027-04-05", "283.50", "0.00", "active")]
    [InlineData("2027-05-20", "325.50", "0.00", "owned")]
    public void The_family_of_the_story_stands_where_the_story_says(string day, string equity, string pastDue, string status)
    {
        var account = Year.Value.Account(Family, Date(day))!;
        Assert.Equal((equity, pastDue, status), (account.Equity.ToString(), account.PastDue.ToString(), account.Status));
    }

    [Fact]
    public void The_payment_of_December_was_not_known_on_the_seventh()
    {
        var known = Instant.FromUtc(2026, 12, 8, 0, 0);
        Assert.Equal(Money.Parse("94.50"), Year.Value.Account(Family, new LocalDate(2026, 12, 7), known)!.Equity);
        Assert.Equal(Money.Parse("126.00"), Year.Value.Account(Family, new LocalDate(2026, 12, 7))!.Equity);
    }

    [Fact]
    public void The_family_of_the_story_buys_for_what_was_left()
    {
        // Left 1512.00 - 325.50 = 1186.50, less 20 % = 949.20, tax 75.936 -> 75.94; 1025.14 on 20 May.
        var before = Year.Value.Account(Family, new LocalDate(2027, 5, 20), Instant.FromUtc(2027, 5, 20, 4, 0))!;
        Assert.Equal((Money.Parse("949.20"), Money.Parse("1025.14")), (before.EarlyPurchase.Price, before.EarlyPurchase.Payoff));
        // Rent 5 x 31.50 + 4 x 42.00, plan 5 x 6.50 + 4 x 8.00, tax 5 x 3.04 + 4 x 4.00 + 75.94: 325.50 + 64.50 + 107.14 + 949.20.
        Assert.Equal(Money.Parse("1446.34"), Year.Value.Account(Family, new LocalDate(2027, 6, 15))!.Paid.Total);
    }

    private static LocalDate Date(string day) => LocalDatePattern.Iso.Parse(day).Value;
}
