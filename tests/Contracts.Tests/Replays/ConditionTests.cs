using Contracts.Replays;
using Contracts.Tests.Support;
using Xunit;

namespace Contracts.Tests.Replays;

/// <summary>The conditions of `step --until`: what they say, and where they are wrong.</summary>
public sealed class ConditionTests
{
    private static readonly Script Life = Script.Given(
        """
        2026-09-05 sign
        2026-09-05 pay amount=45.00 method=cash
        2026-11-20 pay amount=10.00 method=card
        2026-12-01 return condition=good
        """);

    [Theory]
    [InlineData("event = signed", 1)]
    [InlineData("paid.total >= 45", 2)]
    [InlineData("equity = 45.00 and unappliedCredit = 0", 2)]
    [InlineData("pastDue > 0.00", 1)]
    [InlineData("paid.total > 45.00 and not status = returned", 3)]
    [InlineData("status = \"returned\"", 4)]
    [InlineData("status = returned or on > 2026-11-01", 3)]
    [InlineData("status = returned or (on > 2026-11-01 and equity < 1)", 4)]
    [InlineData("not (status = active)", 4)]
    [InlineData("paid.rent < paid.total or installments.due >= 2", 3)]
    [InlineData("on = figuresOn and nextDue.on = 2026-12-05", 3)]
    [InlineData("key=L3", 3)]
    [InlineData("equity < 0", 0)]
    public void The_first_event_after_which_it_holds(string text, int number)
    {
        var (condition, fault) = Condition.Parse(text);
        Assert.Null(fault);
        var steps = EventWalk.Of(Life.Shop.History("C-1"), Reference(Life.Shop), today: null);
        Assert.Equal(number, steps.Select((step, index) => (Holds: condition!.Holds(step), Number: index + 1)).FirstOrDefault(one => one.Holds).Number);
    }

    [Theory]
    [InlineData("", 1, "A figure was expected")]
    [InlineData("equty < 0", 1, "There is no figure 'equty'")]
    [InlineData("equity", 7, "was expected here")]
    [InlineData("equity 0", 8, "not '0'")]
    [InlineData("equity < cheap", 10, "An amount was expected")]
    [InlineData("equity < 1.005", 10, "An amount was expected")]
    [InlineData("equity < 0 and", 15, "A figure was expected")]
    [InlineData("(equity < 0", 12, "not closed")]
    [InlineData("equity < 0)", 11, "the end was expected")]
    [InlineData("status < active", 8, "by = and != only")]
    [InlineData("on > soon", 6, "A day was expected")]
    [InlineData("status = \"active", 10, "quotes are not closed")]
    [InlineData("equity < 0 & status = active", 12, "has no meaning")]
    [InlineData("installments.due = 1.50", 20, "A count was expected")]
    [InlineData("installments.due = equity", 20, "cannot be compared")]
    [InlineData("\"equity\" < 0", 1, "a word in quotes")]
    public void What_is_wrong_is_told_with_its_column(string text, int column, string words)
    {
        var (condition, fault) = Condition.Parse(text);
        Assert.Null(condition);
        Assert.Equal(column, fault!.Column);
        Assert.Contains(words, fault.Detail, StringComparison.OrdinalIgnoreCase);
    }

    [Fact]
    public void Too_deep_and_too_long_are_refused_and_do_not_break()
    {
        Assert.Contains("deep", Condition.Parse(string.Concat(Enumerable.Repeat("(", 200)) + "equity < 0").Fault!.Detail, StringComparison.Ordinal);
        Assert.Contains("characters", Condition.Parse(new string('x', 600)).Fault!.Detail, StringComparison.Ordinal);
    }

    /// <summary>Of a shop whose rates were all there from the first day.</summary>
    internal static KnownReference Reference(InMemoryShop shop)
    {
        var memory = new MemoryShop(InMemoryShop.Zone);
        foreach (var (command, _, _) in shop.Accepted)
        {
            if ((string)command["do"]! is "set-tax" or "adopt-law") { Assert.Null(memory.Apply(System.Text.Encoding.UTF8.GetBytes(command.ToJsonString()))); }
        }

        return memory.Reference;
    }
}
