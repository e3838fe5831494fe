using System.Security.Claims;
using Contracts.Store;

namespace Contracts.Host.Serving.SignIn;

/// <summary>Why somebody reads.</summary>
public static class Purposes
{
    /// <summary>What is recorded of whoever says nothing.</summary>
    public const string NotSaid = "not said";

    /// <summary>The most characters.</summary>
    public const int Longest = 200;

    /// <summary>Whether it can be recorded.</summary>
    public static bool IsFit(string purpose) => purpose.Length is > 0 and <= Longest && !purpose.Any(char.IsControl);

    /// <summary>What was said in a form: cut to what can be recorded, and said to be nothing where it is blank.</summary>
    public static string Of(string? given)
    {
        var text = string.Concat((given ?? "").Where(letter => !char.IsControl(letter))).Trim();
        return text.Length == 0 ? NotSaid : text[..Math.Min(text.Length, Longest)];
    }
}

/// <summary>
/// Writes down what a person looks at, for the pages: to be awaited before anything of an account is shown. Where it throws,
/// nothing may be shown; the host then answers 503.
/// </summary>
public sealed class PageReads(ContractsStore store)
{
    /// <summary>Records a visit of whoever is signed in, with the purpose of their session.</summary>
    /// <param name="person">Who looks.</param>
    /// <param name="route">The template of the page, such as <c>/account/{id}</c>.</param>
    /// <param name="contract">Which contract, or null where it is about many.</param>
    /// <param name="stop">Gives up.</param>
    public Task RecordAsync(ClaimsPrincipal person, string route, string? contract, CancellationToken stop = default) =>
        RecordAsync(person.Name(), person.Role(), route, contract, person.Purpose() ?? Purposes.NotSaid, stop);

    /// <summary>The same with everything said.</summary>
    public Task RecordAsync(string person, string role, string route, string? contract, string purpose, CancellationToken stop = default) =>
        store.Readings.AddAsync(person, role, route, contract, purpose, stop);
}
