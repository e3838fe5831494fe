using System.Text;
using Contracts.Disclosures;
using Contracts.History;
using Contracts.Replays;
using Contracts.Tests.Support;
using CsCheck;
using NodaTime;
using Xunit;

namespace Contracts.Tests.Replays;

/// <summary>An account taken away replays to the same figures, and nothing of anybody is in it.</summary>
public sealed class ExtractTests
{
    private static readonly long Lives =
        long.Parse(Environment.GetEnvironmentVariable("CONTRACTS_LIVES") ?? "150", System.Globalization.CultureInfo.InvariantCulture);

    [Fact]
    public void Every_life_taken_away_replays_to_the_same_figures_on_every_day_of_a_fact() => InEveryLife(life =>
    {
        var away = TakenAway(life);
        Assert.Equal(Facts(life.History), Facts(away.History));
        foreach (var day in life.History.Facts.Select(fact => fact.Event.On).Append(life.Today))
        {
            Assert.Equal(Figures(life.History, life.Reference, day), Figures(away.History, away.Reference, day));
        }
    });

    [Fact]
    public void Nothing_of_a_household_a_serial_a_person_or_a_word_of_theirs_is_left()
    {
        var life = Script.Given(
            """
            2026-09-05 sign household=Quillfeather serial=SN-SECRET-1 accessories=20.00 location=12_Hidden_Lane
            2026-09-05 pay amount=45.00 method=cash reference=CHEQUE-4711 key=family-quillfeather-1 by=mara
            2026-09-06 pay amount=1.00 method=purse_of_Mother
            2026-09-15 report-damage description=Mother_dropped_it estimate=45.00 key=family-quillfeather-2
            2026-09-16 issue-label serial=SN-SECRET-1 carrier=Uncle_Quillfeather reference=CHEQUE-4712
            2026-09-20 swap serial=SN-SECRET-2 returnBy=2026-09-25 damage=family-quillfeather-2
            2026-10-20 waive fee=unreturned:L6 reason=Mother_was_ill by=mara
            2026-11-01 reverse-payment payment=family-quillfeather-1 code=R01 reason=Bank_said_so
            """);
        var lines = string.Join('\n', new ExtractLines().Of([life.Shop.History("C-1")], ConditionTests.Reference(life.Shop)).Select(line => line.ToJsonString()));
        foreach (var secret in new[] { "uillfeather", "SECRET", "Hidden", "4711", "mara", "Mother", "Bank", "stand", "C-1", "L6" })
        {
            Assert.DoesNotContain(secret, lines, StringComparison.OrdinalIgnoreCase);
        }

        Assert.Contains("unreturned:K-", lines, StringComparison.Ordinal);
        Assert.Equal(lines, string.Join('\n', new ExtractLines().Of([life.Shop.History("C-1")], ConditionTests.Reference(life.Shop)).Select(line => line.ToJsonString())));
    }

    private static (ContractHistory History, KnownReference Reference) TakenAway(ReplayedLife life)
    {
        var shop = new MemoryShop(InMemoryShop.Zone);
        foreach (var line in new ExtractLines().Of([life.History], life.Reference))
        {
            var refusal = shop.Apply(Encoding.UTF8.GetBytes(line.ToJsonString()));
            Assert.True(refusal is null, $"{line.ToJsonString()}: {refusal?.Detail}");
        }

        return (Assert.Single(shop.Histories), shop.Reference);
    }

    private static long[] Figures(ContractHistory history, KnownReference reference, LocalDate day)
    {
        var numbers = new long[FigureVector.Numbers.Length];
        FigureVector.Read(AccountFold.At(history, reference.Last, day) is { } state ? Account.Of(state, default) : null, numbers);
        return numbers;
    }

    private static IEnumerable<string> Facts(ContractHistory history) => history.Facts.Select(entry => $"{entry.Event.GetType().Name} {entry.Event.On}");

    private static void InEveryLife(Action<ReplayedLife> holds) => Gen.Int[0, 1_000_000].Sample(
        seed =>
        {
            if (ReplayedLife.Of(seed) is { } life) { holds(life); }
        },
        iter: Lives);
}
