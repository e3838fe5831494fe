using System.Globalization;
using System.Text;
using System.Text.Json.Nodes;
using Contracts.Agreements;
using Contracts.Commands;
using Contracts.Disclosures;
using Contracts.History;
using Contracts.Tests.Support;
using Contracts.Tests.WhatIf;
using Contracts.WhatIf;
using CsCheck;
using NodaTime;
using NodaTime.Text;
using Xunit;

namespace Contracts.Tests.Walks;

/// <summary>What would be, on generated lives: it is what really happens when the same is really done, and asking changes nothing.</summary>
public sealed class WhatIfWalkTests
{
    private static readonly long Lives =
        long.Parse(Environment.GetEnvironmentVariable("CONTRACTS_LIVES") ?? "150", CultureInfo.InvariantCulture);

    [Fact]
    public void A_payment_that_is_supposed_is_the_payment_that_is_made_and_without_it_all_is_as_before() => Gen.Int[0, int.MaxValue].Sample(seed =>
    {
        var life = Life.Generate(seed);
        var random = new Random(seed);
        var day = Today(life).PlusDays(-random.Next(0, 200));
        var pay = $$"""{"do":"pay","key":"supposed","on":"{{Iso(LocalDate.Max(day, life.SignedOn))}}","amount":"{{new Money(random.Next(1, 20000))}}","method":"cash","contract":"C-1","at":"{{InstantPattern.ExtendedIso.Format(life.LastRecorded)}}"}""";
        var question = Question(life, Today(life).PlusDays(random.Next(-60, 300)));
        var change = Read($$"""{"add":{{pay}} }""");
        if (life.Shop.Account(life.Contract, life.SignedOn) is null) { return; }
        var before = Account(life, question.On);
        var answer = Ask(question, change, seed);
        Assert.Null(life.Shop.Apply(pay));
        Same(answer.After, Account(life, question.On), seed);
        var back = Ask(Question(life, question.On), new WhatIfChange.Removed("supposed"), seed);
        Same(back.After, before, seed);
    }, iter: Lives);

    [Fact]
    public void A_day_moved_by_none_changes_nothing_and_asking_never_changes_the_history() => Gen.Int[0, int.MaxValue].Sample(seed =>
    {
        var life = Life.Generate(seed);
        var question = Question(life, Today(life).PlusDays(30));
        if (!question.History.IsSigned) { return; }
        var entries = question.History.Entries;
        foreach (var fact in question.History.Facts)
        {
            var answer = Ask(question, new WhatIfChange.Changed(fact.Key, WhatIfReader.WithDay(fact.Event.On)), seed);
            Assert.True(answer.Figures.IsEmpty && answer.Words.IsEmpty && answer.Charges.IsEmpty && answer.Facts.IsEmpty && answer.Departure is null, $"seed {seed}, {fact.Key}");
            Assert.True(Corrections.Of(answer) is { Reaches: true, Commands.IsEmpty: true }, $"seed {seed}, {fact.Key}");
        }

        Assert.Equal(entries, life.Shop.History(life.Contract).Entries);
    }, iter: Lives / 5);

    [Fact]
    public void Corrections_given_for_real_give_the_figures_that_would_be_or_those_they_say_they_leave() => Gen.Int[0, int.MaxValue].Sample(seed =>
    {
        var life = Life.Generate(seed);
        var random = new Random(seed);
        var question = Question(life, Today(life));
        if (Change(question, random) is not { } change || WhatIfAnswer.Of(question, change).Answer is not { } answer) { return; }
        var corrections = Corrections.Of(answer);
        var refusal = Supposition.Apply(life.Shop, corrections, life.LastRecorded);
        Assert.True(refusal is null, $"seed {seed}: {refusal?.Detail}");
        var real = Account(life, question.On);
        foreach (var (path, of) in Portfolio.Figures)
        {
            var left = corrections.Left.SingleOrDefault(figure => figure.Figure == path);
            var (is_, would) = (real is null ? 0 : of(real).Cents, answer.After is null ? 0 : of(answer.After).Cents);
            Assert.True((left?.Before ?? would, left?.After ?? would) == (is_, would), $"seed {seed}: {path} is {is_}, would be {would}; {answer.Says}");
        }
    }, iter: Lives);

    [Fact]
    public void Before_the_point_of_departure_no_figure_differs() => Gen.Int[0, int.MaxValue].Sample(seed =>
    {
        var life = Life.Generate(seed);
        var random = new Random(seed);
        var question = Question(life, Today(life));
        if (Change(question, random) is not { } change || WhatIfAnswer.Of(question, change).Answer is not { } answer) { return; }
        var last = answer.Departure?.On.PlusDays(-1) ?? question.On;
        for (var day = life.SignedOn; day <= last; day = day.PlusDays(random.Next(1, 9)))
        {
            Same(Ask(question with { On = day }, change, seed).After, Account(life, day), seed);
        }

        Assert.True(answer.Departure is not null || (answer.Figures.IsEmpty && answer.Words.IsEmpty), $"seed {seed}");
    }, iter: Lives / 5);

    [Fact]
    public void A_command_that_is_written_is_read_back_the_same() => Gen.Int[0, int.MaxValue].Sample(seed =>
    {
        var life = Life.Generate(seed);
        foreach (var fact in life.Shop.History(life.Contract).Facts)
        {
            var command = FactOverlay.Original(life.Contract, fact);
            var line = CommandWriter.Line(command).ToJsonString();
            var (read, refusal) = CommandReader.Read(Encoding.UTF8.GetBytes(line));
            Assert.True(read is not null, refusal?.Detail);
            Assert.Equal(line, CommandWriter.Line((Command.OnContract)read.Command).ToJsonString());
            var given = life.Shop.Accepted.Single(one => (string)one.Command["key"]! == fact.Key).Command;
            Assert.Equal(CommandReader.Read(Encoding.UTF8.GetBytes(given.ToJsonString())).Command!.Command, read.Command, new SameLine());
        }
    }, iter: Lives / 10);

    private sealed class SameLine : IEqualityComparer<Command>
    {
        public bool Equals(Command? x, Command? y) =>
            CommandWriter.Line((Command.OnContract)x!).ToJsonString() == CommandWriter.Line((Command.OnContract)y!).ToJsonString();

        public int GetHashCode(Command obj) => 0;
    }

    /// <summary>Something to suppose about a life: a fact gone, of another day or amount, or one more.</summary>
    private static WhatIfChange? Change(WhatIfQuestion question, Random random)
    {
        if (!question.History.IsSigned) { return null; }
        var fact = question.History.Facts[random.Next(question.History.Facts.Length)];
        return random.Next(6) switch
        {
            0 or 1 => new WhatIfChange.Removed(fact.Key),
            2 => new WhatIfChange.Changed(fact.Key, WhatIfReader.WithDay(fact.Event.On.PlusDays(random.Next(-40, 20)))),
            3 => new WhatIfChange.Changed(fact.Key, "{\"amount\":\"" + new Money(random.Next(1, 9000)) + "\"}"),
            4 => new WhatIfChange.Changed(question.History.Facts[0].Key, $$$"""{"terms":{"lateFee":{"amount":"{{{new Money(random.Next(3) * 250)}}}","graceDays":9} } }"""),
            _ => Read($$"""{"add":{"do":"{{(random.Next(2) == 0 ? "cancel-plan" : "elect-plan")}}","on":"{{Iso(fact.Event.On)}}","at":"{{InstantPattern.ExtendedIso.Format(fact.At)}}"} }"""),
        };
    }

    private static WhatIfAnswer Ask(WhatIfQuestion question, WhatIfChange change, int seed)
    {
        var (answer, refusal) = WhatIfAnswer.Of(question, change);
        Assert.True(answer is not null, $"seed {seed}: {refusal?.Slug} {refusal?.Detail}");
        return answer;
    }

    private static void Same(Account? one, Account? other, int seed)
    {
        Assert.True((one is null) == (other is null), $"seed {seed}");
        if (one is null || other is null) { return; }
        Assert.All(Portfolio.Figures, figure => Assert.True(figure.Of(one) == figure.Of(other), $"seed {seed}: {figure.Path} {figure.Of(one)} {figure.Of(other)}"));
        Assert.True((one.Status, one.Serial, one.Installments, one.NextDue) == (other.Status, other.Serial, other.Installments, other.NextDue), $"seed {seed}");
    }

    private static WhatIfChange Read(string text)
    {
        var (change, refusal) = WhatIfReader.Read(Encoding.UTF8.GetBytes(text), "C-1");
        Assert.True(change is not null, refusal?.Detail);
        return change;
    }

    private static WhatIfQuestion Question(Life life, LocalDate on) =>
        new(life.Shop.History(life.Contract), life.Shop.RatesAt(Instant.MaxValue), on, life.LastRecorded, InMemoryShop.Zone);

    private static Account? Account(Life life, LocalDate on) => life.Shop.Account(life.Contract, on);

    private static LocalDate Today(Life life) => life.LastRecorded.InZone(InMemoryShop.Zone).Date;

    private static string Iso(LocalDate day) => LocalDatePattern.Iso.Format(day);
}
