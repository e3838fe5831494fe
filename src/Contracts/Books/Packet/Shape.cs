using System.Collections.Immutable;

namespace Contracts.Books.Packet;

/// <summary>The checks that the parts of a packet share. Only a bug in a report can fail them, so they throw.</summary>
internal static class Shape
{
    /// <summary>Lower-case words with hyphens between: safe as a file's name everywhere.</summary>
    public static bool IsReportId(string? id) =>
        !string.IsNullOrEmpty(id) && id.Split('-').All(word => word.Length > 0 && word.All(c => char.IsAsciiLetterLower(c) || char.IsAsciiDigit(c)));

    /// <summary>A name as in JSON. `row` and `evidence` stand beside the columns in the flat forms and are taken.</summary>
    public static bool IsColumnId(string? id) =>
        !string.IsNullOrEmpty(id) && char.IsAsciiLetterLower(id[0]) && id.All(char.IsAsciiLetterOrDigit) && id is not ("row" or "evidence");

    /// <summary>Words on one line.</summary>
    public static string Line(string? text, string part) => !string.IsNullOrWhiteSpace(text) && !text.Any(char.IsControl)
        ? text : throw new ArgumentException($"'{text}' is not a line of words.", part);

    /// <summary>An array that was given, which may be empty, and in which nothing is missing.</summary>
    public static ImmutableArray<T> Present<T>(ImmutableArray<T> items, string part)
        where T : class => !items.IsDefault && items.All(item => item is not null)
        ? items : throw new ArgumentException("Something is missing; an empty array says that there is nothing.", part);

    /// <summary>The first id that stands twice, or nothing.</summary>
    public static string? Repeated(IEnumerable<string> ids)
    {
        var seen = new HashSet<string>(StringComparer.OrdinalIgnoreCase);
        return ids.FirstOrDefault(id => !seen.Add(id));
    }
}
