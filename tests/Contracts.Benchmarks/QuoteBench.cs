using System.Diagnostics;
using Contracts.Agreements;
using Contracts.Quotes;
using Contracts.Terms;
using NodaTime;

namespace Contracts.Benchmarks;

/// <summary>How long the engine takes for a quote of 36 installments, without store, terminal or JSON, and with the JSON.</summary>
internal static class QuoteBench
{
    private const int WarmUp = 2_000;

    public static void Run(int quotes)
    {
        var terms = new ContractTerms(
            new Money(129500), new Money(136800), new IntroductoryPeriod(0, Money.Zero), new Money(3800), Rate.Whole,
            [new EarlyPurchaseTier(3, Rate.Parse("0.40")), new EarlyPurchaseTier(12, Rate.Parse("0.30")), new EarlyPurchaseTier(null, Rate.Parse("0.25"))],
            new ProtectionPlan(new Money(700), false), new LateFeeTerms(new Money(500), 7), Money.Zero);
        var rates = ReferenceData.None.With("J", new TaxEntry(new LocalDate(2020, 1, 1), Rate.Parse("0.08875"), new TaxedParts(true, true, true, true)));
        var offer = new Offer(null, null, "NY", "J", new LocalDate(2026, 9, 5), terms, [], true);
        var (engine, withJson) = (Times(WarmUp + quotes, () => QuoteMaker.Make(offer, rates).Months.Length), Times(WarmUp + quotes, () => QuoteJson.Bytes(QuoteMaker.Make(offer, rates)).Length));
        Console.WriteLine($"a quote of {QuoteMaker.Make(offer, rates).Months.Length} installments, {quotes:N0} times: engine median {Median(engine):F1} us, p99 {At(engine, 99):F1} us (goal: under 1,000 us)");
        Console.WriteLine($"the same written as JSON: median {Median(withJson):F1} us, p99 {At(withJson, 99):F1} us");
    }

    /// <summary>Microseconds of each run after the warm-up, sorted.</summary>
    private static double[] Times(int runs, Func<int> work)
    {
        var times = new double[runs];
        for (var run = 0; run < runs; run++)
        {
            var begun = Stopwatch.GetTimestamp();
            if (work() == 0) { throw new InvalidOperationException("A quote has months."); }
            times[run] = Stopwatch.GetElapsedTime(begun).TotalMicroseconds;
        }

        var measured = times[WarmUp..];
        Array.Sort(measured);
        return measured;
    }

    private static double Median(double[] sorted) => At(sorted, 50);

    private static double At(double[] sorted, int percent) => sorted[(sorted.Length - 1) * percent / 100];
}
