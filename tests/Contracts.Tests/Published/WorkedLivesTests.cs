using System.Text.Json.Nodes;
using Contracts.Books;
using Contracts.Tests.House;
using Contracts.Tests.Support;
using NodaTime;
using NodaTime.Text;
using Xunit;

namespace Contracts.Tests.Published;

/// <summary>The lives of fixtures/published/worked-lives.json: month-end balances that three general ledger programs came to.</summary>
public sealed class WorkedLivesTests
{
    private static readonly JsonObject All = (JsonObject)JsonNode.Parse(
        File.ReadAllText(Path.Combine(Repository.Root, "fixtures", "published", "worked-lives.json")))!;

    private readonly InMemoryShop shop = new();

    public static TheoryData<string> Ids => [.. Lives.Select(life => (string)life["id"]!)];

    private static IEnumerable<JsonObject> Lives => ((JsonArray)All["lives"]!).Select(life => (JsonObject)life!);

    [Theory]
    [MemberData(nameof(Ids))]
    public void The_books_come_to_the_month_ends_of_a_worked_example(string id)
    {
        var life = Lives.Single(candidate => (string)candidate["id"]! == id);
        Play((JsonArray)life["commands"]!);
        var contracts = ((JsonArray)life["contracts"]!).Select(contract => (string)contract!).ToList();
        foreach (var month in ((JsonArray)life["months"]!).Select(month => (JsonObject)month!))
        {
            var on = LocalDatePattern.Iso.Parse((string)month["on"]!).GetValueOrThrow();
            var lines = contracts.SelectMany(contract =>
                Postings.Lines(shop.History(contract), shop.RatesAt(Instant.MaxValue), LocalDate.MinIsoValue, on)).ToList();
            foreach (var (name, figure) in month.Where(pair => pair.Key is not ("on" or "taxOfTheMonth")))
            {
                Assert.Equal($"{on:uuuu-MM-dd} {name} {(string)figure!}", $"{on:uuuu-MM-dd} {name} {Figure(name, lines, on)}");
            }

            if (month["taxOfTheMonth"] is JsonObject tax)
            {
                Assert.Equal(
                    $"{on:uuuu-MM-dd} {string.Join(", ", tax.Select(pair => $"{pair.Key} {pair.Value}").Order())}",
                    $"{on:uuuu-MM-dd} {string.Join(", ", TaxOfTheMonth(lines, on).Order())}");
            }
        }
    }

    [Fact]
    public void Every_life_names_its_source_and_how_it_was_verified_and_what_is_left_out() =>
        Assert.All(Lives, life =>
        {
            Assert.Equal("worked example", (string)life["origin"]!);
            Assert.StartsWith("worked example: ", (string)life["source"]!, StringComparison.Ordinal);
            Assert.StartsWith("recomputed by ledger", (string)life["verified"]!, StringComparison.Ordinal);
            Assert.NotEmpty((JsonArray)life["leftOut"]!);
        });

    private static Money Figure(string name, List<BookLine> lines, LocalDate on)
    {
        Money Debit(params ReadOnlySpan<BookAccount> accounts)
        {
            var sum = Money.Zero;
            foreach (var account in accounts)
            {
                foreach (var line in lines.Where(line => line.Account == account)) { sum += line.Through(on); }
            }

            return sum;
        }

        Money Credit(params ReadOnlySpan<BookAccount> accounts) => Money.Zero - Debit(accounts);

        return name switch
        {
            "deferredRent" => Credit(BookAccount.DeferredRent),
            "deferredPlan" => Credit(BookAccount.DeferredPlan),
            "rentalRevenue" => Credit(BookAccount.RentalRevenue),
            "planRevenue" => Credit(BookAccount.PlanRevenue),
            "lateFees" => Credit(BookAccount.LateFees),
            "unapplied" => Credit(BookAccount.UnappliedCredit),
            "purchaseCredit" => Debit(BookAccount.EquityHeld),
            "salesTaxPayable" => Credit(BookAccount.SalesTaxPayable, BookAccount.SalesTaxOnBadDebts),
            "salesTaxOnBadDebts" => Debit(BookAccount.SalesTaxOnBadDebts),
            "uncollectibleRent" => Debit(BookAccount.UncollectibleRent),
            "badDebts" => Debit(BookAccount.BadDebts),
            "stillWrittenOff" => Credit(BookAccount.ReceivablesWrittenOff),
            "receivable" => Debit(
                BookAccount.ReceivableInstallments, BookAccount.ReceivableFees, BookAccount.ReceivableSales, BookAccount.ReceivablesWrittenOff),
            "moneyReceived" => Debit(
                BookAccount.CardClearing, BookAccount.BankClearing, BookAccount.CashDrawer, BookAccount.ChecksReceived, BookAccount.CashOperating),
            _ => throw new InvalidOperationException($"No figure is called {name}."),
        };
    }

    private static IEnumerable<string> TaxOfTheMonth(List<BookLine> lines, LocalDate on)
    {
        var lastMonth = new LocalDate(on.Year, on.Month, 1).PlusDays(-1);
        return lines.Where(line => line.Account == BookAccount.SalesTaxPayable).GroupBy(line => line.Authority).Select(group =>
            $"{group.Key} {group.Aggregate(Money.Zero, (sum, line) => sum - line.Through(on) + line.Through(lastMonth))}");
    }

    private void Play(JsonArray commands)
    {
        var day = new LocalDate(2026, 1, 1);
        for (var index = 0; index < commands.Count; index++)
        {
            var command = (JsonObject)commands[index]!.DeepClone();
            if (command["on"] is { } on) { day = LocalDatePattern.Iso.Parse((string)on!).GetValueOrThrow(); }
            command["at"] = InstantPattern.ExtendedIso.Format((day + new LocalTime(12, 0)).InZoneStrictly(InMemoryShop.Zone).ToInstant());
            command["key"] ??= $"k{index}";
            var refusal = shop.Apply(command.ToJsonString());
            Assert.True(refusal is null, $"{command.ToJsonString()}: {refusal?.Slug} {refusal?.Detail} {refusal?.RightFigure}");
        }
    }
}
