using System.Globalization;
using Contracts.Disclosures;
using Contracts.Explain;
using Contracts.History;
using Contracts.Tests.Support;
using CsCheck;
using NodaTime;
using Xunit;

namespace Contracts.Tests.Walks;

/// <summary>Comparisons of generated lives at random pairs of views: what made the difference adds up to it, whichever way one looks.</summary>
public sealed class CompareWalkTests
{
    private static readonly long Lives =
        long.Parse(Environment.GetEnvironmentVariable("CONTRACTS_LIVES") ?? "1000", CultureInfo.InvariantCulture);

    [Fact]
    public void What_made_a_difference_adds_up_to_it_exactly() => Gen.Int[0, int.MaxValue].Sample(seed =>
    {
        var life = Life.Generate(seed);
        for (var pair = 0; pair < 3; pair++) { Check(life, seed, life.Question(), life.Question()); }
    }, iter: Lives);

    [Fact]
    public void From_one_day_to_the_next_no_day_is_skipped_that_moves_a_figure() => Gen.Int[0, int.MaxValue].Sample(seed =>
    {
        var life = Life.Generate(seed);
        for (var day = life.SignedOn.PlusDays(-1); day < life.SignedOn.PlusDays(500); day = day.PlusDays(1))
        {
            Check(life, seed, (day, Instant.MaxValue), (day.PlusDays(1), Instant.MaxValue));
        }
    }, iter: Lives / 50);

    [Fact]
    public void The_way_back_is_the_difference_with_its_sign_turned() => Gen.Int[0, int.MaxValue].Sample(seed =>
    {
        var life = Life.Generate(seed);
        var (from, to) = (life.Question(), life.Question());
        if (Compare(life, from, to) is not { } there) { return; }
        var back = Compare(life, to, from)!;
        Assert.Equal(
            there.Figures.Select(figure => (figure.Figure, figure.From, figure.To)),
            back.Figures.Select(figure => (figure.Figure, figure.To, figure.From)));
    }, iter: Lives / 2);

    private static void Check(Life life, int seed, (LocalDate On, Instant Known) from, (LocalDate On, Instant Known) to)
    {
        var (first, last) = (life.Shop.Account(life.Contract, from.On, from.Known), life.Shop.Account(life.Contract, to.On, to.Known));
        var comparison = Compare(life, from, to);
        if (first is null && last is null)
        {
            Assert.Null(comparison);
            return;
        }

        foreach (var (path, of) in Portfolio.Figures)
        {
            var (a, b) = (first is null ? Money.Zero : of(first), last is null ? Money.Zero : of(last));
            var found = comparison!.Figures.SingleOrDefault(figure => figure.Figure == path);
            Assert.Equal((seed, path, a == b ? null : (a.Cents, b.Cents)), (seed, path, found is null ? ((long, long)?)null : (found.From, found.To)));
        }

        foreach (var figure in comparison!.Figures)
        {
            Assert.True(
                figure.To - figure.From == figure.Because.Sum(one => one.Amount),
                $"seed {seed}, {from} to {to}, {figure.Figure} {figure.From} {figure.To}: {string.Join("; ", figure.Because)}");
            Assert.All(figure.Because, one => CheckCause(one.Cause, from, to));
        }
    }

    /// <summary>A cause is of the kind that its event's two dates make it.</summary>
    private static void CheckCause(DifferenceCause cause, (LocalDate On, Instant Known) from, (LocalDate On, Instant Known) to)
    {
        var (early, late) = (LocalDate.Min(from.On, to.On), LocalDate.Max(from.On, to.On));
        if (cause.Event is null)
        {
            Assert.True(cause.By == DifferenceBy.Time ? cause.On > early && cause.On <= late : cause.On is null, $"{cause}");
            Assert.False(cause.Backdated);
            return;
        }

        var knownThen = cause.Event.At <= from.Known;
        var knownNow = cause.Event.At <= to.Known;
        var on = cause.Event.Event.On;
        Assert.Equal(on, cause.On);
        Assert.Equal(cause.Event.At.InZone(InMemoryShop.Zone).Date > on, cause.Backdated);
        Assert.True(
            cause.By switch
            {
                DifferenceBy.Knowledge => knownThen != knownNow && on <= from.On,
                DifferenceBy.Both => !knownThen && knownNow && on > from.On && on <= to.On,
                _ => knownNow && on > early && on <= late && (knownThen || to.On < from.On),
            }, $"{cause}");
    }

    private static Comparison? Compare(Life life, (LocalDate On, Instant Known) from, (LocalDate On, Instant Known) to) =>
        Comparison.Of(View(life, from), View(life, to), InMemoryShop.Zone);

    private static ComparedView View(Life life, (LocalDate On, Instant Known) view) =>
        new(view.On, view.Known, life.Shop.History(life.Contract).AsKnownAt(view.Known), life.Shop.RatesAt(view.Known));
}
