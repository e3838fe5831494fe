using System.Globalization;
using System.Numerics;
using System.Text;
using System.Text.Encodings.Web;
using Contracts.Agreements;
using Contracts.Disclosures;
using Contracts.History;
using Contracts.Payments;
using Contracts.Replays;
using CsCheck;
using NodaTime;
using NodaTime.Text;
using Xunit;

namespace Contracts.Tests.Replays;

/// <summary>What makes a walk and its line quick is held against the plain way of each.</summary>
public sealed class ResultWriterTests
{
    private static readonly long Lives = long.Parse(Environment.GetEnvironmentVariable("CONTRACTS_LIVES") ?? "150", CultureInfo.InvariantCulture);

    [Fact]
    public void A_history_as_it_grew_is_the_history_evolved_event_by_event() => InEveryLife(life =>
    {
        var entries = life.History.Entries;
        foreach (var history in (ContractHistory[])[life.History, ContractHistory.Of("C-1", entries), life.History.ThroughSequence(entries[^1].Sequence - 1)])
        {
            var (evolved, index) = (ContractHistory.Unsigned("C-1"), 0);
            foreach (var grown in history.AsItGrew())
            {
                evolved = evolved.Evolve(history.Entries[index++]);
                Assert.Equal(evolved.Entries, grown.Entries);
                Assert.Equal(evolved.Facts, grown.Facts);
                Assert.True(grown.EntriesSeen.SequenceEqual(grown.Entries.AsSpan()) && grown.FactsSeen.SequenceEqual(grown.Facts.AsSpan()));
                Assert.Equal("C-1", grown.Contract);
            }

            Assert.Equal(history.Entries.Length, index);
        }
    });

    [Fact]
    public void What_was_known_early_does_not_change_with_what_is_learned_after_it() => InEveryLife(life =>
    {
        // Two continuations of one beginning, which stands in an array that holds more than it knows.
        var entries = life.History.Entries;
        var early = life.History.AsItGrew().ElementAt(entries.Length / 2);
        var (facts, other) = (early.Facts, entries[0] with { Sequence = entries[^1].Sequence + 7 });
        var longer = early.Evolve(other);
        Assert.Equal([.. entries[..(early.Entries.Length)], other], longer.Entries);
        Assert.Equal(facts, early.Facts);
        Assert.Equal(life.History.Entries, entries);
        Assert.Equal(ContractHistory.Of("C-1", longer.Entries).Facts, longer.Facts);
    });

    [Fact]
    public void A_history_out_of_the_order_of_recording_is_impossible_however_it_is_walked() => InEveryLife(life =>
    {
        if (life.History.Entries.Length < 2) { return; }
        // Turned round as a whole, and with nothing but its numbers turned round, so that its days stay in order.
        var turned = ContractHistory.Of("C-1", [.. life.History.Entries.Reverse()]);
        var renumbered = ContractHistory.Of("C-1", [.. life.History.Entries.Select((entry, index) => entry with { Sequence = 10_000 - index })]);
        Assert.Throws<ImpossibleHistoryException>(() => turned.AsItGrew().Count());
        Assert.Throws<ImpossibleHistoryException>(() => renumbered.AsItGrew().Count());
    });

    [Fact]
    public void One_writer_writes_every_contract_as_a_writer_of_its_own_does()
    {
        var writer = new ResultWriter(JavaScriptEncoder.Default, Kind);
        InEveryLife(life =>
        {
            var turned = ContractHistory.Of("C-1", [.. life.History.Entries.Reverse()]);
            foreach (var history in (ContractHistory[])[life.History, turned, life.History])
            {
                Assert.Equal(Text(new ResultWriter(JavaScriptEncoder.Default, Kind), history), Text(writer, history));
            }

            string Text(ResultWriter by, ContractHistory history) => Encoding.UTF8.GetString(by.Write(history, life.Reference, life.Today));
        }, threads: 1);

        static string Kind(ContractEvent fact) => fact.GetType().Name;
    }

    [Fact]
    public void The_digest_of_open_items_is_that_of_these_items_whatever_was_digested_before() => InEveryLife(life =>
    {
        var (remembered, words, anew) = (new RememberedDigest(), new string[FigureVector.Texts.Length], new string[FigureVector.Texts.Length]);
        foreach (var step in EventWalk.Of(life.History, life.Reference, life.Today))
        {
            FigureVector.Read(step.Figures, words, remembered);
            FigureVector.Read(step.Figures, anew);
            Assert.Equal(anew, words);
        }
    });

    [Fact]
    public void Installments_are_those_that_a_look_at_every_charge_counts() => InEveryLife(life =>
    {
        foreach (var step in EventWalk.Of(life.History, life.Reference, today: null))
        {
            var installments = step.State!.Charges.Where(charge => charge.Kind == ChargeKind.Installment).ToList();
            Assert.Equal((installments.Count, installments.Count(charge => charge.IsPaid)), (step.Figures!.Installments.Due, step.Figures.Installments.Paid));
        }
    });

    [Fact]
    public void Digits_are_those_of_any_number()
    {
        Gen.Long.Sample(Same, iter: 5_000);
        Gen.Long[-200_000_000, 200_000_000].Sample(Same, iter: 5_000);
        Gen.Long[-20_000, 20_000].Sample(Same, iter: 5_000);
        foreach (var edge in (long[])[0, 9, 10, 99, 100, 999, 1000, 9999, 10_000, 10_001, 100_000, 1_000_000, 10_000_000, 99_999_999, 100_000_000, 20_260_101, long.MaxValue])
        {
            Same(edge);
            Same(-edge);
        }

        Same(long.MinValue);

        static void Same(long number)
        {
            Span<byte> room = stackalloc byte[Digits.Longest];
            Assert.Equal(number.ToString(CultureInfo.InvariantCulture), Encoding.ASCII.GetString(room[..Digits.Write(number, room)]));
        }
    }

    [Fact]
    public void Days_are_those_of_the_pattern()
    {
        var every = LocalDate.MaxIsoValue.Year - LocalDate.MinIsoValue.Year;
        Gen.Int[0, every].SelectMany(year => Gen.Int[1, 12].SelectMany(month => Gen.Int[1, 28].Select(day => new LocalDate(LocalDate.MinIsoValue.Year + year, month, day))))
            .Sample(Same, iter: 3_000);
        Gen.Int[-1000, 12_000].Select(days => new LocalDate(2026, 1, 1).PlusDays(days)).Sample(Same, iter: 3_000);
        foreach (var edge in (LocalDate[])[LocalDate.MinIsoValue, LocalDate.MaxIsoValue, new(999, 12, 31), new(1000, 1, 1), new(1, 1, 1), new(0, 1, 1), new(-1, 12, 31)])
        {
            Same(edge);
        }

        static void Same(LocalDate day) => Assert.Equal(LocalDatePattern.Iso.Format(day), Digits.Iso(day));
    }

    [Fact]
    public void The_whole_of_a_part_is_rounded_half_up_for_any_amount_and_rate() => Gen.Long[0, 200_000_000_000].Select(Gen.Long[1, 250_000_000]).Sample(
        (cents, units) =>
        {
            var (product, below) = (new BigInteger(cents) * 100_000_000, new BigInteger(units));
            if (product / below > long.MaxValue / 4) { return; }
            Assert.Equal((long)(((2 * product) + below) / (2 * below)), new Rate(units).WholeOf(new Money(cents)).Cents);
            // Half a cent, which chance seldom meets.
            Assert.Equal(new Money(cents + 1), new Rate(200_000_000).WholeOf(new Money((2 * cents) + 1)));
        },
        iter: 3_000);

    private static void InEveryLife(Action<ReplayedLife> holds, int threads = -1) => Gen.Int[0, 1_000_000].Sample(
        seed =>
        {
            if (ReplayedLife.Of(seed) is { } life) { holds(life); }
        },
        iter: Lives, threads: threads);
}
