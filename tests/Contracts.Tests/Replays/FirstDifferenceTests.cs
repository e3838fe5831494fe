using System.Buffers;
using System.Collections.Immutable;
using System.Text;
using System.Text.Encodings.Web;
using System.Text.Json;
using System.Text.Json.Nodes;
using Contracts.Agreements;
using Contracts.Books;
using Contracts.Disclosures;
using Contracts.History;
using Contracts.Replays;
using Contracts.Tests.Support;
using CsCheck;
using Xunit;

namespace Contracts.Tests.Replays;

/// <summary>Results of a build in every life: written, read, and held against others with a fault planted at a known event.</summary>
public sealed class FirstDifferenceTests
{
    private static readonly long Lives =
        long.Parse(Environment.GetEnvironmentVariable("CONTRACTS_LIVES") ?? "150", System.Globalization.CultureInfo.InvariantCulture);

    [Fact]
    public void Every_step_of_the_walk_is_the_account_and_the_postings_as_they_were_known_then() => InEveryLife(life =>
    {
        var before = ContractHistory.Unsigned("C-1");
        foreach (var step in EventWalk.Of(life.History, life.Reference, today: null))
        {
            var after = life.History.ThroughSequence(step.Event!.Sequence);
            var rates = life.Reference.Through(step.Event.Sequence);
            var state = AccountFold.At(after, rates, Postings.PostedThrough(after))!;
            Assert.Equal(AccountText.Of(Account.Of(state, step.Event.At)), AccountText.Of(step.Figures!));
            Assert.Equal(Postings.Added(before, after, rates), step.Lines);
            // What takes a line back stands where that line stood among those of its period, whatever its own amount.
            Assert.Equal(step.Lines.OrderBy(line => line with { Amount = Money.Zero }, Comparer<BookLine>.Create(BookLine.Compare)), step.Lines);
            Assert.Distinct(step.Lines.Where(line => line.Spread is null).Select(line => (line.On, line.Account, line.Movement, line.Authority)));
            before = after;
        }
    });

    [Fact]
    public void The_last_step_is_the_account_of_a_fold_made_anew_for_the_day_of_the_question() => InEveryLife(life =>
    {
        foreach (var today in (NodaTime.LocalDate[])[life.Today, Postings.PostedThrough(life.History), life.History.Entries[0].Event.On, life.Today.PlusMonths(40)])
        {
            var last = EventWalk.Of(life.History, life.Reference, today).Last();
            Assert.Null(last.Event);
            Assert.Empty(last.Lines);
            var anew = AccountFold.At(life.History, life.Reference.Last, today);
            Assert.Equal(anew is null, last.Figures is null);
            if (anew is not null) { Assert.Equal(AccountText.Of(Account.Of(anew, life.History.Entries[^1].At)), AccountText.Of(last.Figures!)); }
        }
    });

    [Theory]
    [InlineData(false)]
    [InlineData(true)]
    public void A_line_is_what_a_writer_of_JSON_makes_of_it_whatever_signs_its_words_have(bool plainly) => InEveryLife(life =>
    {
        var options = new JsonWriterOptions { Encoder = plainly ? JavaScriptEncoder.UnsafeRelaxedJsonEscaping : JavaScriptEncoder.Default };
        var line = new ResultWriter(options.Encoder, Named).Write(life.History, life.Reference, life.Today).ToArray();
        var again = new ArrayBufferWriter<byte>();
        using (var read = JsonDocument.Parse(line))
        using (var json = new Utf8JsonWriter(again, options))
        {
            read.WriteTo(json);
        }

        Assert.Equal(Encoding.UTF8.GetString(again.WrittenSpan), Encoding.UTF8.GetString(line));
        var (_, steps, broken) = ResultLine.Read(line, ResultShape.Ours);
        Assert.Null(broken);
        Assert.Equal([.. life.History.Entries.Select(entry => Named(entry.Event)), ResultLine.Today], steps.Select(step => step.Kind));

        static string Named(ContractEvent fact) => $"{fact.GetType().Name} \"§ 12\" <é> \\ \t 🎻+&'";
    });

    [Fact]
    public void The_same_rules_write_the_same_bytes_and_part_nowhere() => InEveryLife(life =>
    {
        Assert.Equal(life.Line(), life.Line());
        Assert.Null(ReplayedLife.Part(life.Line(), life.Line()));
        var (_, steps, broken) = ResultLine.Read(life.Line(), ResultShape.Ours);
        Assert.Null(broken);
        Assert.Equal([.. life.History.Entries.Select(entry => entry.Sequence), 0L], steps.Select(step => step.Sequence));
        Assert.Equal(steps[^1].On, life.Today.ToString("uuuu-MM-dd", System.Globalization.CultureInfo.InvariantCulture));
    });

    [Fact]
    public void A_figure_that_another_build_had_otherwise_is_found_at_its_event_with_its_amount() => InEveryLife(life =>
    {
        var json = JsonNode.Parse(life.Line())!;
        var steps = json["steps"]!.AsArray();
        var at = Math.Abs(life.History.Entries[^1].At.GetHashCode()) % steps.Count;
        var figure = Math.Abs(life.History.Entries.Length * 7) % FigureVector.Numbers.Length;
        var was = ResultLine.Read(life.Line(), ResultShape.Ours).Steps[at].Numbers[figure];
        Set(steps[at]![3]!.AsArray(), figure, was - 137);

        var first = ReplayedLife.Part(Encoding.UTF8.GetBytes(json.ToJsonString()), life.Line())!;
        Assert.Equal(at + 1, first.Number);
        var parting = Assert.Single(first.Figures, one => one.Figure == FigureVector.Numbers[figure]);
        Assert.Equal(137, parting.By);
    });

    [Fact]
    public void Another_event_and_a_missing_one_in_its_place_are_one_cause() => InEveryLife(life =>
    {
        var (other, shorter) = (JsonNode.Parse(life.Line())!, JsonNode.Parse(life.Line())!);
        other["steps"]!.AsArray()[^1]![0] = 99_999;
        shorter["steps"]!.AsArray().RemoveAt(shorter["steps"]!.AsArray().Count - 1);
        var groups = new CauseGroups();
        foreach (var theirs in new[] { other, shorter })
        {
            groups.Add(ReplayedLife.Part(Encoding.UTF8.GetBytes(theirs.ToJsonString()), life.Line())!);
        }

        // A sequence is no amount: by how much it differs would be printed as one.
        Assert.Equal((1, 2), (groups.Causes.Count, groups.Causes[0].Count));
        Assert.Empty(groups.Causes[0].Ranges);
    });

    [Fact]
    public void Postings_of_other_days_with_the_same_sums_part_too() => InEveryLife(life =>
    {
        var json = JsonNode.Parse(life.Line())!;
        var posted = json["steps"]!.AsArray().Index().FirstOrDefault(step => ((string)step.Item![4]!).Length > 0);
        if (posted.Item is null) { return; }
        posted.Item[4] = "0123456789ab";
        var first = ReplayedLife.Part(Encoding.UTF8.GetBytes(json.ToJsonString()), life.Line())!;
        Assert.Equal(posted.Index + 1, first.Number);
        Assert.Equal("posted:days", Assert.Single(first.Figures).Figure);
    });

    [Fact]
    public void A_payment_of_another_amount_parts_at_that_payment_and_never_before() => InEveryLife(life =>
    {
        var payment = life.History.Entries.FirstOrDefault(entry => entry.Event is ContractEvent.PaymentReceived);
        if (payment is null) { return; }
        var other = ContractHistory.Of("C-1", [.. life.History.Entries.Select(entry => entry == payment
            ? entry with { Event = ((ContractEvent.PaymentReceived)entry.Event) with { Amount = ((ContractEvent.PaymentReceived)entry.Event).Amount + new Money(100) } }
            : entry)]);
        var first = ReplayedLife.Part(life.Line(), life.Line(other))!;
        Assert.Equal(payment.Sequence, first.Sequence);
        Assert.Equal("PaymentReceived", first.Kind);
    });

    [Fact]
    public void Where_only_words_part_first_the_first_amounts_after_it_are_told() => InEveryLife(life =>
    {
        var json = JsonNode.Parse(life.Line())!;
        var steps = json["steps"]!.AsArray();
        var was = ResultLine.Read(life.Line(), ResultShape.Ours).Steps;
        if (steps.Count < 3) { return; }
        steps[0]![3]!.AsArray().Add(FigureVector.Numbers.Length + FigureVector.Texts.IndexOf("openItems"));
        steps[0]![3]!.AsArray().Add("0123456789ab");
        Set(steps[2]![3]!.AsArray(), 0, was[2].Numbers[0] - 5);
        var first = ReplayedLife.Part(Encoding.UTF8.GetBytes(json.ToJsonString()), life.Line())!;
        Assert.Equal((1, 3), (first.Number, first.Amounts!.Number));
        var groups = new CauseGroups();
        groups.Add(first with { Contract = "C-0", Amounts = null });
        groups.Add(first);
        Assert.Equal(("C-0", "C-1", 3), (groups.Causes[0].First.Contract, groups.Causes[0].Amounts!.Contract, groups.Causes[0].Amounts!.Number));
        Assert.Equal(5, Assert.Single(first.Amounts.Figures, one => one.Figure == FigureVector.Numbers[0]).By);
    });

    [Fact]
    public void Causes_are_told_apart_by_event_and_figures_and_keep_the_range()
    {
        var groups = new CauseGroups();
        foreach (var (contract, by) in new[] { ("C-1", 5L), ("C-2", -3L), ("C-3", 9L) })
        {
            groups.Add(new FirstDifference(contract, 4, 9, "payment_received", "2026-09-05", [new Parting("equity", "1.00", "1.05", by)]));
        }

        groups.Add(new FirstDifference("C-4", 4, 9, "returned", "2026-09-05", [new Parting("equity", "1.00", "1.05", 5)]));
        Assert.Equal(4, groups.Parted);
        Assert.Equal([3, 1], groups.Causes.Select(cause => cause.Count));
        Assert.Equal((-3L, 9L), groups.Causes[0].Ranges["equity"]);
        Assert.Equal(["C-1", "C-2", "C-3"], groups.Causes[0].Contracts);
        Assert.Equal("equity", groups.Causes[0].Leading);
    }

    [Fact]
    public void Another_law_parts_where_its_rule_is_first_felt()
    {
        // Haw. Rev. Stat. 481M-6 limits the price of an early purchase; a pack of Hawaii without that section lets the terms decide.
        var life = Script.Given("2026-09-05 sign state=HI tiers=*:0.00 cash=995.00\n2026-09-05 pay amount=45.00 method=cash");
        var reference = ConditionTests.Reference(life.Shop);
        var pack = global::Contracts.Law.LawBook.SuppliedFor("HI")!;
        var without = pack with { Rules = [.. pack.Rules.Where(rule => rule is not global::Contracts.Law.LawRule.PurchasePrice)] };
        var (was, now) = (Steps(reference), Steps(reference.InsteadOf(without)));
        Assert.NotEqual(was[0].Figures!.EarlyPurchase.Price, now[0].Figures!.EarlyPurchase.Price);
        Assert.Equal("terms", now[0].Figures!.EarlyPurchase.Basis);

        ImmutableArray<WalkStep> Steps(KnownReference known) => [.. EventWalk.Of(life.Shop.History("C-1"), known, today: null)];
    }

    private static void Set(JsonArray changes, int figure, long value)
    {
        for (var at = 0; at < changes.Count; at += 2)
        {
            if ((int)changes[at]! != figure) { continue; }
            changes[at + 1] = value;
            return;
        }

        changes.Add(figure);
        changes.Add(value);
    }

    private static void InEveryLife(Action<ReplayedLife> holds) => Gen.Int[0, 1_000_000].Sample(
        seed =>
        {
            if (ReplayedLife.Of(seed) is { } life) { holds(life); }
        },
        iter: Lives);
}
