using System.Collections.Frozen;
using System.Security.Cryptography;
using Contracts.Store.Callers;
using Microsoft.AspNetCore.Identity;
using Microsoft.Extensions.Options;

namespace Contracts.Host.Serving.SignIn;

/// <summary>Why a name or a password is not taken.</summary>
/// <param name="Code">Stable.</param>
/// <param name="Says">A sentence for whoever chose it.</param>
public sealed record Unfit(string Code, string Says);

/// <summary>Passwords of people: what is taken, how it is kept (PBKDF2 with HMAC-SHA-512 and a salt of its own), how it is compared.</summary>
public sealed class Passwords
{
    /// <summary>What OWASP's page on storing passwords asks for with this hash.</summary>
    public const int Iterations = 210_000;

    /// <summary>The fewest characters of a password.</summary>
    public const int Shortest = 12;

    /// <summary>The most characters of a password: a longer one only keeps the host busy.</summary>
    public const int Longest = 200;

    private const int LongestName = 100;
    private const int FewestDifferent = 5;
    private const int Groups = 5;

    /// <summary>Without characters that are read as another.</summary>
    private const string Letters = "abcdefghjkmnpqrstuvwxyz23456789";

    /// <summary>Common ones that are long enough; shorter ones are refused for that.</summary>
    private static readonly FrozenSet<string> Common = FrozenSet.ToFrozenSet(
        [
            "123456789012", "1234567890123", "123456789123", "1234567891011", "012345678910", "098765432109", "112233445566", "123123123123", "1q2w3e4r5t6y",
            "1qaz2wsx3edc", "1qaz2wsx3edc4rfv", "qwertyuiop12", "qwertyuiop123", "qwertyuiop[]", "qwertyuiopasdf", "qwerty123456", "qwerty1234567", "asdfghjkl123",
            "abcdefghijkl", "abcdefghijklm", "abcd12345678", "abc123456789", "a1b2c3d4e5f6", "q1w2e3r4t5y6", "zaq12wsxcde3", "zxcvbnm12345", "passwordpassword",
            "password1234", "password12345", "password123456", "password2024", "password2025", "password2026", "passw0rd1234", "p@ssw0rd1234", "p@ssword1234",
            "mypassword123", "mypassword1234", "yourpassword", "changeme1234", "changemenow1", "changeme123!", "letmein12345", "letmein123456", "letmeinplease",
            "welcome12345", "welcome123456", "iloveyou1234", "iloveyouforever", "administrator", "administrator1", "admin1234567", "admin12345678", "sunshine1234",
            "princess1234", "football1234", "baseball1234", "superman1234", "trustno1trustno1", "monkey123456", "dragon123456", "correcthorsebatterystaple",
            "thisisapassword", "thisismypassword", "notapassword", "secretsecret", "secret123456", "supersecret1", "supersecret123", "musicmusicmusic", "musicstore123",
            "clarinet1234", "trumpet12345", "contracts123", "contracts1234",
        ],
        StringComparer.OrdinalIgnoreCase);

    private readonly PasswordHasher<string> hasher = new(Options.Create(new PasswordHasherOptions { IterationCount = Iterations }));
    private readonly string nobodys;
    private long compared;

    public Passwords() => nobodys = Hash(Make());

    /// <summary>How many passwords were compared: one for each attempt, whatever came of it, so that the time of an answer tells nothing.</summary>
    public long Compared => Interlocked.Read(ref compared);

    /// <summary>A password that nobody will guess, for somebody to read and type.</summary>
    public static string Make() =>
        string.Join('-', Enumerable.Range(0, Groups).Select(_ => RandomNumberGenerator.GetString(Letters, 4)));

    /// <summary>Why a name is not taken, or null.</summary>
    public static Unfit? AgainstName(string name) => name.Trim().Length is 0 or > LongestName || name.Any(char.IsControl)
        ? new Unfit("name-invalid", $"A name has 1 to {LongestName} characters.")
        : null;

    /// <summary>Why somebody may not have a password, or null.</summary>
    public static Unfit? Against(string password, string name) => password switch
    {
        { Length: < Shortest } => new Unfit("password-short", $"A password has at least {Shortest} characters; a few words in a row are easy to keep in mind."),
        { Length: > Longest } => new Unfit("password-long", $"A password has at most {Longest} characters."),
        _ when Common.Contains(password) || password.Distinct().Count() < FewestDifferent => new Unfit("password-common", "That password is among the first that are tried."),
        _ when password.Contains(name.Trim(), StringComparison.OrdinalIgnoreCase) && name.Trim().Length * 2 >= password.Length =>
            new Unfit("password-is-name", "That password is little more than the name."),
        _ => null,
    };

    /// <summary>The hash that is kept.</summary>
    public string Hash(string password) => hasher.HashPassword("", password);

    /// <summary>Whether it is the person's password. Where there is nobody, or nothing may be looked at, it takes as long and is not.</summary>
    /// <param name="person">Who signs in, or null.</param>
    /// <param name="password">What they gave.</param>
    /// <param name="isOld">Whether it is right and kept by a hash of earlier times.</param>
    public bool Matches(Person? person, string password, out bool isOld)
    {
        Interlocked.Increment(ref compared);
        var given = password.Length > Longest ? "" : password;
        var result = hasher.VerifyHashedPassword("", person?.Hash ?? nobodys, given);
        isOld = result == PasswordVerificationResult.SuccessRehashNeeded;
        return person is not null && given.Length > 0 && result != PasswordVerificationResult.Failed;
    }
}
