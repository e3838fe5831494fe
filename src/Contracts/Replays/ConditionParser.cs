using System.Globalization;
using NodaTime;
using NodaTime.Text;

namespace Contracts.Replays;

/// <summary>Reads a <see cref="Condition"/> by recursive descent, and tells where it goes wrong.</summary>
internal sealed class ConditionParser
{
    private const int LongestText = 500;
    private const int Deepest = 20;

    private readonly string text;
    private readonly List<(int Column, string Token, bool Quoted)> tokens = [];
    private int next;
    private int depth;

    public ConditionParser(string text)
    {
        this.text = text;
        if (text.Length > LongestText) { throw new Wrong(LongestText + 1, $"A condition has at most {LongestText} characters."); }
        Cut();
    }

    /// <summary>Reads all of it.</summary>
    public Func<WalkStep, bool> Whole()
    {
        var whole = Either();
        return next == tokens.Count ? whole : throw Here("'and', 'or' or the end was expected here");
    }

    private Func<WalkStep, bool> Either()
    {
        var left = Both();
        while (Takes("or"))
        {
            var (one, other) = (left, Both());
            left = step => one(step) || other(step);
        }

        return left;
    }

    private Func<WalkStep, bool> Both()
    {
        var left = One();
        while (Takes("and"))
        {
            var (one, other) = (left, One());
            left = step => one(step) && other(step);
        }

        return left;
    }

    private Func<WalkStep, bool> One()
    {
        if (++depth > Deepest) { throw Here($"brackets and nots are at most {Deepest} deep"); }
        var one = Takes("not") ? Not(One()) : Takes("(") ? Bracket() : Comparison();
        depth--;
        return one;
    }

    private static Func<WalkStep, bool> Not(Func<WalkStep, bool> one) => step => !one(step);

    private Func<WalkStep, bool> Bracket()
    {
        var inside = Either();
        return Takes(")") ? inside : throw Here("the bracket is not closed: ')' was expected here");
    }

    private Func<WalkStep, bool> Comparison()
    {
        var (column, name, quoted) = Take("a figure was expected here");
        if (quoted) { throw new Wrong(column, $"A figure was expected here, and '{name}' is a word in quotes."); }
        if (ConditionFigures.Number(name) is { } number) { return Numbers(number, ConditionFigures.IsCount(name), Sign(ordered: true)); }
        if (ConditionFigures.Days.TryGetValue(name, out var day)) { return Days(day, Sign(ordered: true)); }
        if (ConditionFigures.Words.TryGetValue(name, out var word)) { return Words(word, Sign(ordered: false)); }
        throw new Wrong(column, $"There is no figure '{name}'. There are: {string.Join(", ", Condition.Names)}.");
    }

    private Func<WalkStep, bool> Numbers(int figure, bool isCount, Func<int, bool> sign)
    {
        var (column, value, quoted) = Take("a number or a figure was expected here");
        if (!quoted && ConditionFigures.Number(value) is { } other)
        {
            if (ConditionFigures.IsCount(value) != isCount) { throw new Wrong(column, "An amount and a count cannot be compared."); }
            return step => ConditionFigures.Value(step.Figures, figure) is { } left
                && sign(left.CompareTo(ConditionFigures.Value(step.Figures, other)!.Value));
        }

        if (quoted || Fixed(value, isCount) is not { } right)
        {
            throw new Wrong(column, isCount ? $"A count was expected here, such as 3, not '{value}'." : $"An amount was expected here, such as 38.00, or a figure, not '{value}'.");
        }

        return step => ConditionFigures.Value(step.Figures, figure) is { } left && sign(left.CompareTo(right));
    }

    /// <summary>A number as the figures have it: cents, or a count.</summary>
    private static long? Fixed(string value, bool isCount)
    {
        var whole = long.TryParse(value, NumberStyles.AllowLeadingSign, CultureInfo.InvariantCulture, out var count) && count is > -1_000_000_000 and < 1_000_000_000;
        if (isCount || whole) { return whole ? isCount ? count : count * 100 : null; }
        var digits = value.TrimStart('-');
        return digits.Length == value.Length || digits.Length == value.Length - 1
            ? Money.TryParse(digits, out var amount) ? digits.Length == value.Length ? amount.Cents : -amount.Cents : null
            : null;
    }

    private Func<WalkStep, bool> Days(Func<WalkStep, LocalDate?> day, Func<int, bool> sign)
    {
        var (column, value, quoted) = Take("a day was expected here");
        if (!quoted && ConditionFigures.Days.TryGetValue(value, out var other))
        {
            return step => day(step) is { } one && other(step) is { } two && sign(one.CompareTo(two));
        }

        var parsed = LocalDatePattern.Iso.Parse(value);
        if (!parsed.Success) { throw new Wrong(column, $"A day was expected here, such as 2026-12-07, not '{value}'."); }
        return step => day(step) is { } left && sign(left.CompareTo(parsed.Value));
    }

    private Func<WalkStep, bool> Words(Func<WalkStep, string?> word, Func<int, bool> sign)
    {
        var (_, value, _) = Take("a word was expected here");
        return step => word(step) is { } left && sign(string.CompareOrdinal(left, value));
    }

    private Func<int, bool> Sign(bool ordered)
    {
        var (column, sign, _) = Take("one of = != < <= > >= was expected here");
        if (!ordered && (sign is "<" or "<=" or ">" or ">=")) { throw new Wrong(column, "Words are compared by = and != only."); }
        return sign switch
        {
            "=" => order => order == 0,
            "!=" => order => order != 0,
            "<" => order => order < 0,
            "<=" => order => order <= 0,
            ">" => order => order > 0,
            ">=" => order => order >= 0,
            _ => throw new Wrong(column, $"One of = != < <= > >= was expected here, not '{sign}'."),
        };
    }

    private bool Takes(string word)
    {
        var takes = next < tokens.Count && tokens[next] is { Quoted: false } token && token.Token == word;
        if (takes) { next++; }
        return takes;
    }

    private (int Column, string Token, bool Quoted) Take(string otherwise) => next < tokens.Count ? tokens[next++] : throw Here(otherwise);

    private Wrong Here(string what)
    {
        var words = $"{char.ToUpperInvariant(what[0])}{what[1..]}";
        return next < tokens.Count ? new Wrong(tokens[next].Column, $"{words}, not '{tokens[next].Token}'.") : new Wrong(text.Length + 1, $"{words}.");
    }

    private void Cut()
    {
        var at = 0;
        while (at < text.Length)
        {
            var (start, first) = (at, text[at]);
            if (first == ' ' || first == '\t') { at++; continue; }
            if (first is '"' or '\'')
            {
                var end = text.IndexOf(first, at + 1);
                if (end < 0) { throw new Wrong(start + 1, "These quotes are not closed."); }
                tokens.Add((start + 1, text[(at + 1)..end], true));
                at = end + 1;
                continue;
            }

            if (first is '(' or ')' or '=') { at++; }
            else if (first is '<' or '>' or '!') { at += at + 1 < text.Length && text[at + 1] == '=' ? 2 : 1; }
            else
            {
                while (at < text.Length && (char.IsAsciiLetterOrDigit(text[at]) || text[at] is '.' or '-' or '_' or ':')) { at++; }
            }

            if (at == start) { throw new Wrong(start + 1, $"The sign '{first}' has no meaning here."); }
            tokens.Add((start + 1, text[start..at], false));
        }
    }

    /// <summary>Thrown inside the parser only, and answered at its edge.</summary>
    internal sealed class Wrong(int column, string detail) : Exception(detail)
    {
        public ConditionFault Fault { get; } = new(column, detail);
    }
}
