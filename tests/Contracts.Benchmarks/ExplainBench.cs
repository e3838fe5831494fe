using System.Diagnostics;
using Contracts.Agreements;
using Contracts.Explain;
using Contracts.History;
using Contracts.Instruments;
using Contracts.Terms;
using NodaTime;

namespace Contracts.Benchmarks;

/// <summary>How long the engine takes to explain figures of an account with sixty events, and to compare two views of it, without store and terminal.</summary>
internal static class ExplainBench
{
    private const int WarmUp = 100;

    public static void Run(int times)
    {
        var (history, rates) = Account();
        var on = new LocalDate(2029, 3, 1);
        Report("payoff explained", times, () => Explanation.At(history, rates, on)!.Of("earlyPurchase.payoff")!.Parts.Length);
        Report("every figure explained", times, () =>
        {
            var explanation = Explanation.At(history, rates, on)!;
            return explanation.Figures.Sum(figure => explanation.Of(figure)!.Parts.Length + 1);
        });
        var zone = DateTimeZoneProviders.Tzdb["America/New_York"];
        var known = history.Entries[^1].At;
        var (early, late) = (history.Entries[9].At, known);
        Report("two views two years and fifty events apart compared", times, () => Comparison.Of(
            new ComparedView(new LocalDate(2027, 3, 1), early, history.AsKnownAt(early), rates), new ComparedView(on, late, history, rates), zone)!.Figures.Length);
    }

    /// <summary>Signed, paid in two parts each month and late now and then, exchanged once: sixty events.</summary>
    private static (ContractHistory History, ReferenceData Rates) Account()
    {
        var terms = new ContractTerms(
            new Money(179500), new Money(179500), new IntroductoryPeriod(2, new Money(4500)), new Money(3800), Rate.Whole,
            [new EarlyPurchaseTier(3, Rate.Parse("0.40")), new EarlyPurchaseTier(null, Rate.Parse("0.25"))],
            new ProtectionPlan(new Money(700), false), new LateFeeTerms(new Money(500), 7), Money.Zero);
        var rates = ReferenceData.None.With("J", new TaxEntry(new LocalDate(2020, 1, 1), Rate.Parse("0.08875"), new TaxedParts(true, true, true, true)));
        var signedOn = new LocalDate(2026, 9, 5);
        var events = new List<ContractEvent>
        {
            new ContractEvent.Signed("H-1", new Instrument("clarinet", "S-1", "new", null), "NY", "J", signedOn, terms, [], true) { On = signedOn },
        };
        for (var part = 0; events.Count < 60; part++)
        {
            var on = signedOn.PlusMonths(part / 2).PlusDays(part % 5 * 3);
            if (part == 30) { events.Add(new ContractEvent.InstrumentExchanged(new Instrument("alto saxophone", "S-2", "new", null), terms, []) { On = on }); }
            events.Add(new ContractEvent.PaymentReceived(new Money(2450), "card", null) { On = on });
        }

        var at = Instant.FromUtc(2026, 9, 5, 15, 0);
        return (ContractHistory.Of("C-1", [.. events.OrderBy(one => one.On).Select((one, index) =>
            new Recorded(one, index + 1, at + Duration.FromDays(one.On.ToDateTimeUnspecified().Subtract(signedOn.ToDateTimeUnspecified()).Days), $"k{index}", null, null, null))]), rates);
    }

    private static void Report(string what, int times, Func<int> work)
    {
        var taken = new double[WarmUp + times];
        for (var run = 0; run < taken.Length; run++)
        {
            var begun = Stopwatch.GetTimestamp();
            if (work() == 0) { throw new InvalidOperationException("There is something to explain."); }
            taken[run] = Stopwatch.GetElapsedTime(begun).TotalMilliseconds;
        }

        var first = taken[0];
        var measured = taken[WarmUp..];
        Array.Sort(measured);
        Console.WriteLine($"{what}, {times:N0} times: median {measured[measured.Length / 2]:F2} ms, p99 {measured[(measured.Length - 1) * 99 / 100]:F2} ms, first of the process {first:F1} ms");
    }
}
