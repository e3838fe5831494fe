using System.Collections.Immutable;
using Contracts.History;

namespace Contracts.Explain;

/// <summary>A figure, or a number behind one: what it is, the rule that made it and the parts it was made of.</summary>
/// <param name="Figure">Its name: a figure of the account, or what the number is in the words of docs/money.md.</param>
/// <param name="Value">Dollars with two decimals, a rate, a count, or an exact number (a decimal, or two whole numbers with a stroke).</param>
/// <param name="How">How the parts combine to the value.</param>
/// <param name="Says">The rule in words, without formula.</param>
/// <param name="Citation">The rule of docs/money.md, or the section of the law pack where one made it.</param>
/// <param name="Event">The event that made it, or null for what follows from its parts, a tax rate or the law.</param>
/// <param name="Parts">The parts in the order in which the combination takes them.</param>
/// <remarks>Rent-to-own disclosure rules vary by state. Not legal, tax or accounting advice; ask local counsel.</remarks>
public sealed record ExplainNode(
    string Figure, string Value, Combination How, string Says, string Citation, Recorded? Event, ImmutableArray<ExplainNode> Parts)
{
    /// <summary>The rule as it is printed: the word of the combination, the rule in words, the formula with the numbers put in.</summary>
    public string Rule
    {
        get
        {
            var formula = How.Formula([.. Parts.Select(part => part.Value)]);
            return formula.Length == 0 ? $"{How.Word()}: {Says}" : $"{How.Word()}: {Says}: {formula}";
        }
    }
}
