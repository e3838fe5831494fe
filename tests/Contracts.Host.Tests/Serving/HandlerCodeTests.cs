using System.Runtime.CompilerServices;
using Contracts.Host.Jobs;
using Contracts.Host.Running;
using Contracts.Store;
using Contracts.Tests.Support;
using JasperFx.CodeGeneration;
using JasperFx.CodeGeneration.Model;
using Microsoft.Extensions.DependencyInjection;
using Microsoft.Extensions.Hosting;
using Wolverine;
using Xunit;

namespace Contracts.Host.Tests.Serving;

/// <summary>
/// The code around the handlers is compiled with the host, so that no command waits for a compiler. Here it is held
/// against what Wolverine writes today; CONTRACTS_GOLDEN=write writes the files anew.
/// </summary>
public sealed class HandlerCodeTests
{
    private const string Kept = "src/Contracts.Host/Running/Generated";

    [Fact]
    public async Task The_code_around_the_handlers_is_what_wolverine_writes_today()
    {
        var folder = Directory.CreateTempSubdirectory("handlers-").FullName;
        try
        {
            await WriteAsync(folder);
            var files = Directory.GetFiles(folder, "*.cs", SearchOption.AllDirectories);
            Assert.Equal(6, files.Length);
            foreach (var file in files)
            {
                // Blanks at the ends of lines are the only thing that is not kept.
                var lines = (await File.ReadAllLinesAsync(file, TestContext.Current.CancellationToken)).Select(line => line.TrimEnd());
                Golden.Same($"{Kept}/{Path.GetFileName(file)}", string.Join('\n', lines).TrimEnd('\n') + "\n");
            }
        }
        finally
        {
            Directory.Delete(folder, true);
        }
    }

    private static async Task WriteAsync(string folder)
    {
        var builder = Microsoft.Extensions.Hosting.Host.CreateEmptyApplicationBuilder(null);
        builder.Services.AddLogging();
        // Nothing is handled here: only that there is a store matters to what is written.
        builder.Services.AddSingleton((ContractsStore)RuntimeHelpers.GetUninitializedObject(typeof(ContractsStore)));
        builder.Services.AddSingleton(new JobSigner(null));
        builder.UseWolverine(options =>
        {
            options.Durability.Mode = DurabilityMode.MediatorOnly;
            BusHandlers.Add(options);
            options.CodeGeneration.TypeLoadMode = TypeLoadMode.Dynamic;
            options.CodeGeneration.SourceCodeWritingEnabled = true;
            options.CodeGeneration.GeneratedCodeOutputPath = folder;
        });
        using var host = builder.Build();
        await host.StartAsync(TestContext.Current.CancellationToken);
        var code = new DynamicCodeBuilder(host.Services, [.. host.Services.GetServices<ICodeFileCollection>()])
        {
            ServiceVariableSource = host.Services.GetRequiredService<IServiceVariableSource>(),
        };
        code.WriteGeneratedCode(_ => { });
        await host.StopAsync(TestContext.Current.CancellationToken);
    }
}
