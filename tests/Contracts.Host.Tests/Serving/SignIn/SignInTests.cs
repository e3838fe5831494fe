using System.Net;
using Contracts.Host.Serving.SignIn;
using Contracts.Host.Tests.Serving.Api;
using Contracts.Host.Tests.Support;
using Microsoft.AspNetCore.Identity;
using Microsoft.Extensions.DependencyInjection;
using Xunit;

namespace Contracts.Host.Tests.Serving.SignIn;

/// <summary>People at the door: who comes in, who does not, and what the answer tells somebody who guesses.</summary>
public sealed class SignInTests(Server server)
{
    internal const string Password = "seven invented words";

    [Fact]
    public async Task Somebody_who_gives_name_and_password_is_in_whatever_case_the_name_is_typed_in()
    {
        await using var running = await StartAsync();
        using var browser = new Browser(running);
        Assert.Equal("/", (await browser.SignInAsync("ADA of the desk", Password)).Headers["Location"]);
        Assert.Contains("Ada of the desk, support", (await browser.GetAsync("/sign-out")).Text, StringComparison.Ordinal);
    }

    [Fact]
    public async Task A_wrong_password_a_name_that_nobody_has_and_somebody_shut_out_get_the_same_answer()
    {
        await using var running = await StartAsync();
        await running.Store.People.AddAsync("Gone", Roles.Support, new Passwords().Hash(Password), "An owner");
        await running.Store.People.DisableAsync("Gone", "An owner");
        var passwords = running.Alba.Services.GetRequiredService<Passwords>();
        var before = passwords.Compared;
        var answers = new List<string>();
        foreach (var (name, password) in new[] { ("Ada of the desk", "not the password"), ("Nobody", Password), ("Gone", Password), ("Ada of the desk", new string('x', 5000)) })
        {
            using var browser = new Browser(running);
            var answer = await browser.SubmitAsync("/sign-in", ("name", name), ("password", password));
            Assert.Equal(HttpStatusCode.Forbidden, answer.Status);
            Assert.DoesNotContain("contracts", browser.Cookies.Keys);
            answers.Add(WithoutToken(answer.Text).Replace(name, "NAME", StringComparison.Ordinal));
        }

        Assert.Single(answers.Distinct());
        // Each of them costs one comparison; a name alone is not found out by the clock.
        Assert.Equal(before + 4, passwords.Compared);
    }

    [Theory]
    [InlineData("Ada of the desk")]
    [InlineData("Nobody at all")]
    public async Task Five_wrong_attempts_lock_a_name_for_fifteen_minutes_whether_anybody_has_it_or_not(string name)
    {
        await using var running = await StartAsync();
        using var browser = new Browser(running);
        for (var attempt = 0; attempt < 5; attempt++)
        {
            Assert.Equal(HttpStatusCode.Forbidden, (await browser.SubmitAsync("/sign-in", ("name", name), ("password", "not the password"))).Status);
        }

        var passwords = running.Alba.Services.GetRequiredService<Passwords>();
        var before = passwords.Compared;
        var locked = await browser.SubmitAsync("/sign-in", ("name", name.ToUpperInvariant()), ("password", Password));
        Assert.Equal((HttpStatusCode)429, locked.Status);
        Assert.Contains("After 5 wrong attempts nobody signs in by this name until", locked.Text, StringComparison.Ordinal);
        Assert.Equal("900", locked.Headers["Retry-After"]);
        Assert.Equal(before + 1, passwords.Compared);

        // Fourteen minutes later it still holds, and trying did not make it longer; after fifteen it has passed.
        await PassAsync(running, 14);
        Assert.Equal((HttpStatusCode)429, (await browser.SubmitAsync("/sign-in", ("name", name), ("password", Password))).Status);
        await PassAsync(running, 1);
        var after = await browser.SubmitAsync("/sign-in", ("name", name), ("password", Password));
        Assert.Equal(name == "Nobody at all" ? HttpStatusCode.Forbidden : HttpStatusCode.Redirect, after.Status);
    }

    [Fact]
    public async Task A_good_attempt_forgets_the_bad_ones_before_it_and_guesses_at_the_same_moment_are_counted_one_by_one()
    {
        await using var running = await StartAsync();
        using var browser = new Browser(running);
        for (var round = 0; round < 2; round++)
        {
            for (var attempt = 0; attempt < 4; attempt++) { await browser.SubmitAsync("/sign-in", ("name", "Ada of the desk"), ("password", "not the password")); }
            await browser.SignInAsync("Ada of the desk", Password);
        }

        var answers = await Task.WhenAll(Enumerable.Range(0, 20).Select(_ => running.Store.Attempts.BeginAsync("Somebody")));
        Assert.Equal(5, answers.Count(until => until is null));
    }

    [Fact]
    public async Task What_was_typed_as_a_name_is_kept_as_a_hash_only()
    {
        await using var running = await StartAsync();
        using var browser = new Browser(running);
        await browser.SubmitAsync("/sign-in", ("name", "my secret by mistake"), ("password", "Ada of the desk"));
        await using var source = Npgsql.NpgsqlDataSource.Create(running.Store.Connection.Owner!);
        await using var command = source.CreateCommand("select string_agg(a::text, '') from access.attempts a");
        Assert.DoesNotContain("secret", (string)(await command.ExecuteScalarAsync())!, StringComparison.Ordinal);
    }

    [Fact]
    public async Task An_address_has_only_so_many_attempts_a_minute()
    {
        await using var running = await StartAsync(new SignInSettings { AttemptsPerMinute = 2 });
        using var browser = new Browser(running);
        var statuses = new List<int>();
        for (var attempt = 0; attempt < 3; attempt++)
        {
            statuses.Add((int)(await browser.SubmitAsync("/sign-in", ("name", $"Name {attempt}"), ("password", Password))).Status);
        }

        Assert.Equal([403, 403, 429], statuses);
    }

    [Theory]
    [InlineData("/account/C-1?on=2026-12-07", "/account/C-1?on=2026-12-07")]
    [InlineData("https://elsewhere.example/", "/")]
    [InlineData("//elsewhere.example/", "/")]
    [InlineData("/\\elsewhere.example/", "/")]
    [InlineData("/\t/elsewhere.example/", "/")]
    [InlineData("javascript:alert(1)", "/")]
    [InlineData("/sign-in", "/")]
    [InlineData("", "/")]
    public async Task Signing_in_leads_on_to_a_path_of_this_host_and_nowhere_else(string next, string leads)
    {
        await using var running = await StartAsync();
        using var browser = new Browser(running);
        var page = $"/sign-in?next={Uri.EscapeDataString(next)}";
        Assert.Equal(leads, (await browser.SignInAsync("Ada of the desk", Password, "", page)).Headers["Location"]);
        // Nor when the form itself is changed.
        using var other = new Browser(running);
        Assert.Equal(leads, (await other.SubmitAsync("/sign-in", ("name", "Ada of the desk"), ("password", Password), ("next", next))).Headers["Location"]);
    }

    [Fact]
    public void A_password_is_kept_by_PBKDF2_with_SHA_512_and_as_many_rounds_as_is_asked_for_today()
    {
        var kept = Convert.FromBase64String(new Passwords().Hash(Password));
        Assert.Equal((1, 2u, 210_000u, 16u), (kept[0], Number(kept, 1), Number(kept, 5), Number(kept, 9)));
        Assert.NotEqual(new Passwords().Hash(Password), new Passwords().Hash(Password));
        static uint Number(byte[] bytes, int at) => System.Buffers.Binary.BinaryPrimitives.ReadUInt32BigEndian(bytes.AsSpan(at));
    }

    [Fact]
    public async Task A_hash_of_earlier_times_is_made_anew_when_its_password_is_given()
    {
        await using var running = await StartAsync();
        var weak = new PasswordHasher<string>(Microsoft.Extensions.Options.Options.Create(new PasswordHasherOptions { IterationCount = 1000 })).HashPassword("", Password);
        await running.Store.People.AddAsync("Old timer", Roles.Counter, weak, "An owner");
        using var browser = new Browser(running);
        await browser.SignInAsync("Old timer", Password);
        Assert.NotEqual(weak, (await running.Store.People.FindAsync("Old timer"))!.Hash);
        Assert.Equal(HttpStatusCode.OK, (await browser.GetAsync("/sign-out")).Status);
    }

    [Theory]
    [InlineData("elevenchars", "password-short")]
    [InlineData("password1234", "password-common")]
    [InlineData("PASSWORD1234", "password-common")]
    [InlineData("aaaaaaaaaaaaaaaa", "password-common")]
    [InlineData("Ada of the desk1", "password-is-name")]
    [InlineData("seven invented words", null)]
    public void A_password_that_would_be_tried_first_is_not_taken(string password, string? code) =>
        Assert.Equal(code, Passwords.Against(password, "Ada of the desk")?.Code);

    internal static async Task PassAsync(RunningApi running, int minutes) => await Server.RunAsync(
        running.Store.Connection.Owner!,
        $"update access.attempts set tried_at = tried_at - interval '{minutes} minutes', locked_until = locked_until - interval '{minutes} minutes'");

    private static string WithoutToken(string page) => System.Text.RegularExpressions.Regex.Replace(page, "(?<=name=\"__RequestVerificationToken\" value=\")[^\"]*", "");

    private async Task<RunningApi> StartAsync(SignInSettings? settings = null)
    {
        var running = await RunningApi.StartAsync(server, signIn: settings);
        await running.Store.People.AddAsync("Ada of the desk", Roles.Support, new Passwords().Hash(Password), "An owner");
        return running;
    }
}
