using System.ComponentModel;
using System.Diagnostics;
using System.Text.Json.Nodes;
using Contracts.Tests.House;
using Xunit;

namespace Contracts.Tests.Seals;

/// <summary>
/// The verifier in Python is given the same cases as ours, good ones and damaged ones, and must come to the same answer.
/// Where the machine has no Python 3 the test says so and is skipped.
/// </summary>
public sealed class SecondVerifierTests(ITestOutputHelper output)
{
    [Fact]
    public async Task Two_verifiers_come_to_the_same_answer()
    {
        using var python = Start();
        Assert.SkipWhen(python is null, "There is no python3 on this machine; the second verifier was not tried.");
        var cases = SealCases.All(new Random(20_260_905), SealVectors.Tries("CONTRACTS_CASES", 100_000)).ToList();
        var asking = Task.Run(async () =>
        {
            foreach (var item in cases) { await python.StandardInput.WriteLineAsync(item.ToJsonString()); }
            python.StandardInput.Close();
        }, TestContext.Current.CancellationToken);
        var complaints = python.StandardError.ReadToEndAsync(TestContext.Current.CancellationToken);
        var (accepted, words) = (0, 0);
        foreach (var item in cases)
        {
            var line = await python.StandardOutput.ReadLineAsync(TestContext.Current.CancellationToken);
            Assert.True(line is not null, $"{item.ToJsonString()}\n{(line is null ? await complaints : "")}");
            var (ours, theirs) = (SealCases.Answer(item), (JsonObject)JsonNode.Parse(line!)!);
            var same = ours.ContainsKey("ok") ? JsonNode.DeepEquals(ours, theirs) : !theirs.ContainsKey("ok");
            Assert.True(same, $"{item.ToJsonString()}\nours: {ours.ToJsonString()}\ntheirs: {line}");
            accepted += ours.ContainsKey("ok") ? 1 : 0;
            // Where several things are wrong at once the two may name another one first.
            words += JsonNode.DeepEquals(ours, theirs) ? 1 : 0;
        }

        await asking;
        await python.WaitForExitAsync(TestContext.Current.CancellationToken);
        Assert.Equal(0, python.ExitCode);
        output.WriteLine($"{cases.Count:N0} cases, {accepted:N0} accepted by both, {cases.Count - accepted:N0} refused by both, {words:N0} with one word.");
        Assert.InRange(accepted, cases.Count / 10, cases.Count * 9 / 10);
        Assert.True(words > cases.Count * 97 / 100, $"The two verifiers agree on the word in {words} of {cases.Count} cases only.");
    }

    private static Process? Start()
    {
        var start = new ProcessStartInfo("python3") { RedirectStandardInput = true, RedirectStandardOutput = true, RedirectStandardError = true };
        // -I: no other code of the machine; -B: no compiled file beside the source.
        foreach (var argument in new[] { "-I", "-B", "-X", "utf8", Path.Combine(Repository.Root, "src/Contracts.Store/Dossiers/Files/verify.py"), "selftest" })
        {
            start.ArgumentList.Add(argument);
        }

        try { return Process.Start(start); }
        catch (Win32Exception) { return null; }
    }
}
