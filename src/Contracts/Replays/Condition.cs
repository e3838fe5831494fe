
namespace Contracts.Replays;

/// <summary>What is wrong with a condition, and at which column, from 1.</summary>
public sealed record ConditionFault(int Column, string Detail);

/// <summary>
/// A condition on the figures after an event, such as <c>equity &lt; 0 or (status = returned and on &gt;= 2027-01-05)</c>.
/// </summary>
/// <remarks>
/// <code>
/// condition  = all { "or" all }
/// all        = one { "and" one }
/// one        = "not" one | "(" condition ")" | figure comparison value
/// comparison = "=" | "!=" | "&lt;" | "&lt;=" | "&gt;" | "&gt;="
/// value      = amount | count | day | word | figure
/// </code>
/// A figure is one of <see cref="Names"/>. Amounts and counts are compared with numbers or with each other; <c>on</c> and
/// <c>nextDue.on</c> with days; the rest with words, by = and != only. Words with other signs than letters, digits, dots and
/// hyphens go in quotes. A figure of an account that is not signed yet holds no comparison.
/// </remarks>
public sealed class Condition
{
    private readonly Func<WalkStep, bool> holds;

    internal Condition(Func<WalkStep, bool> holds, string text) => (this.holds, Text) = (holds, text);

    /// <summary>As it was typed.</summary>
    public string Text { get; }

    /// <summary>Every name that can be compared.</summary>
    public static IReadOnlyList<string> Names { get; } =
        [.. FigureVector.Numbers, .. ConditionFigures.Words.Keys, .. ConditionFigures.Days.Keys];

    /// <summary>Whether it holds after a step.</summary>
    public bool Holds(WalkStep step) => holds(step);

    /// <summary>Reads a condition; exactly one of the two answers is given.</summary>
    /// <param name="text">As typed.</param>
    public static (Condition? Condition, ConditionFault? Fault) Parse(string text)
    {
        try
        {
            return (new Condition(new ConditionParser(text).Whole(), text), null);
        }
        catch (ConditionParser.Wrong wrong)
        {
            return (null, wrong.Fault);
        }
    }
}
